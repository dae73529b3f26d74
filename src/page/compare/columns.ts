import { type ShownQuantity, shownIn } from '../../base/quantity.ts';
import { mmPerSToMmPerMin, percentToRatio, pitchMmToRowsPerInch, ratioToPercent } from '../../base/units.ts';
import { screenOf } from '../../image/screens/screen-tone.ts';
import type { Pass, Piece, ScreenMethod } from '../../piece/schema.ts';
import {
  type GridSettingId,
  type GridValue,
  MOST_VALUES,
  type NumberSettingId,
  rangeOf,
  settingField,
} from '../../studies/grid/grid-setting.ts';
import { likelyNumbers, type ProofRecord, percent } from '../burn/proof-store.ts';
import type { PictureSheet } from '../burn/worker/questions.ts';

/** What a proof is called and what it is of. */
export interface ComparedProof {
  readonly id: string;
  readonly name: string;
  readonly record: ProofRecord;
  /** A small picture; empty if there is none yet. */
  readonly thumbnail: string;
}

/** One thing by which proofs are compared. */
export interface Column {
  readonly id: string;
  readonly title: string;
  readonly unit: string;
  /** One number per pass, or one for the proof; null where it is not known yet. Words for what is not a number. */
  read(record: ProofRecord): readonly (number | string | null)[];
  /** How a value is said; numbers as in `read`. */
  say(value: number): string;
  /** Decimals in a file. */
  readonly digits: number;
}

const tidy = (digits: number) => (value: number) => String(Number(value.toFixed(digits)));

const pass = (id: string, title: string, unit: string, digits: number, of: (one: Pass) => number | string): Column => ({
  id,
  title,
  unit,
  digits,
  read: ({ piece }) => piece.passes.map(of),
  say: tidy(digits),
});

/** Settings: a value for each pass. */
const SETTING_COLUMNS: readonly Column[] = [
  pass('light', 'Light end', '%', 1, (one) => ratioToPercent(one.lightEndPower)),
  pass('dark', 'Dark end', '%', 1, (one) => ratioToPercent(one.darkEndPower)),
  pass('feed', 'Feed', 'mm/min', 0, (one) => mmPerSToMmPerMin(one.feedMmPerS)),
  pass('rows', 'Rows', 'per inch', 0, (one) => pitchMmToRowsPerInch(one.rowPitchMm)),
  pass('screen', 'Screen', '', 0, (one) => screenOf(one.screen).look),
  pass('focus', 'Focus', 'mm', 1, (one) => one.focusOffsetMm),
];

const outcome = (
  id: string,
  title: string,
  unit: string,
  digits: number,
  of: (record: ProofRecord) => number | null | undefined,
  say: (value: number) => string = (value) => value.toFixed(digits),
): Column => ({ id, title, unit, digits, read: (record) => [of(record) ?? null], say });

const hundred = (value: number | undefined) => (value === undefined ? null : ratioToPercent(value));

const share = (value: number) => percent(percentToRatio(value)).replace(/ %$/, '');

/** What came out: one number a proof. */
const OUTCOME_COLUMNS: readonly Column[] = [
  outcome('minutes', 'Time', 'min', 1, ({ result }) => result && result.summary.burnTimeS / 60),
  outcome('uncleared', 'Left dark', '%', 2, (record) => hundred(likelyNumbers(record)?.unclearedShare), share),
  outcome('residue', 'Residue', 'µm', 2, (record) => likelyNumbers(record)?.residueUm),
  outcome('scorched', 'Scorched', '%', 2, (record) => hundred(likelyNumbers(record)?.scorchedShare), share),
  outcome('mottle', 'Mottle', 'density', 4, ({ diagnosis }) => diagnosis?.metrics.mottle),
  outcome('tone-error', 'Tone error', 'L*', 1, ({ diagnosis }) => diagnosis?.metrics.toneError.rms),
  outcome('clears', 'Clears', '% likely', 0, ({ sure }) => (sure?.clears == null ? null : ratioToPercent(sure.clears))),
];

export const COLUMNS: readonly Column[] = [...SETTING_COLUMNS, ...OUTCOME_COLUMNS];

/** What stands in a cell; a dash for what is not known. */
export function cellText(column: Column, record: ProofRecord): string {
  const values = column.read(record);
  const texts = values.map((value) => (value === null ? '–' : typeof value === 'string' ? value : column.say(value)));
  return texts.every((text) => text === texts[0]) ? texts[0] : texts.join(' + ');
}

/** By how much a proof differs from the one it is compared with: null where it does not, else words. */
export function differenceText(column: Column, record: ProofRecord, reference: ProofRecord): string | null {
  const text = cellText(column, record);
  const before = cellText(column, reference);
  if (text === before || text.includes('–') || before.includes('–')) return null;
  const [now, ...more] = column.read(record);
  const [then, ...others] = column.read(reference);
  if (typeof now !== 'number' || typeof then !== 'number' || more.length > 0 || others.length > 0) return 'differs';
  const by = now - then;
  const size = Number(Math.abs(by).toFixed(column.digits));
  return size === 0 ? null : `${by > 0 ? '+' : '−'}${size}`;
}

/** Order of two proofs by a column; what is not known comes last whichever way it is sorted. */
export function compareBy(column: Column, a: ProofRecord, b: ProofRecord, descending: boolean): number {
  const [first] = column.read(a);
  const [second] = column.read(b);
  if (first === null || second === null) return first === second ? 0 : first === null ? 1 : -1;
  const order =
    typeof first === 'number' && typeof second === 'number'
      ? first - second
      : String(first).localeCompare(String(second));
  return descending ? -order : order;
}

/** The table as a file: a record a proof, settings of every pass in fields of their own, units in the first line. */
export function comparisonCsv(proofs: readonly ComparedProof[]): string {
  const passes = Math.max(1, ...proofs.map(({ record }) => record.piece.passes.length));
  const settings = Array.from({ length: passes }, (_, i) => SETTING_COLUMNS.map((column) => ({ column, i }))).flat();
  const head = [
    'Proof',
    ...settings.map(({ column, i }) => `Pass ${i + 1}: ${heading(column)}`),
    ...OUTCOME_COLUMNS.map(heading),
  ];
  const records = proofs.map(({ name, record }): CsvValue[] => [
    name,
    ...settings.map(({ column, i }) => csvValue(column, column.read(record)[i] ?? null)),
    ...OUTCOME_COLUMNS.map((column) => csvValue(column, column.read(record)[0])),
  ]);
  return encodeCsv([head, ...records]);
}

const heading = ({ title, unit }: Column): string => (unit ? `${title} (${unit})` : title);

const csvValue = ({ digits }: Column, value: number | string | null): CsvValue =>
  typeof value === 'number' ? Number(value.toFixed(digits)) : value;

/** What a setting of the grid does to the wood. */
const AXIS_NOTES: Readonly<Record<GridSettingId, string>> = {
  'light-end': 'How much of the top coat goes where the picture is light.',
  'dark-end': 'Whether the beam leaves a trace where the picture is dark.',
  feed: 'Faster burns shallower and is done sooner.',
  'row-pitch': 'Closer rows overlap more and take longer; every pitch is screened anew.',
  focus: 'A spot out of focus is wider and weaker in its middle.',
  film: 'A thicker film takes more to clear.',
  screen: 'How tones are made of dots.',
};

/** Grids are in millimetres, like the papers made of them. */
export const shownAxis = (setting: NumberSettingId): ShownQuantity => shownIn(settingField(setting));

export const axisLabel = (setting: GridSettingId): string =>
  setting === 'screen' ? 'Screen' : setting === 'film' ? 'Top coat, dry' : settingField(setting).label;

export const axisNote = (setting: GridSettingId): string => AXIS_NOTES[setting];

/** A value with its unit. */
export function sayValue(setting: GridSettingId, value: GridValue): string {
  if (setting === 'screen') return screenOf(value as ScreenMethod).look;
  return `${bareValue(setting, Number(value))} ${shownAxis(setting).unit}`;
}

const bareValue = (setting: NumberSettingId, value: number): string => {
  const { show, digits } = shownAxis(setting);
  return String(Number(show(value).toFixed(digits)));
};

/** Values as they are typed: bare numbers with spaces between. */
export const typedValues = (setting: NumberSettingId, values: readonly GridValue[]): string =>
  values.map((value) => bareValue(setting, Number(value))).join('  ');

/** What was typed, in rising order, each once and within the setting's range; null if there is no number in it or too many. */
export function readValues(setting: NumberSettingId, text: string, piece: Piece): number[] | null {
  const parts = text.split(/[\s;]+|,\s+/).filter((part) => part !== '');
  const numbers = parts.map((part) => Number(part.replace(',', '.').replace('−', '-')));
  if (numbers.length === 0 || numbers.length > MOST_VALUES || numbers.some((value) => !Number.isFinite(value)))
    return null;
  const [low, high] = rangeOf(setting, piece);
  const held = numbers.map((value) => Math.min(high, Math.max(low, shownAxis(setting).keep(value))));
  return [...new Set(held)].sort((a, b) => a - b);
}

const MOST_PIXELS = 1000;

const SHEET_COLUMNS = 3;

const said = (columns: readonly Column[], { record }: ComparedProof): string[] =>
  columns
    .map((column) => [column, cellText(column, record)] as const)
    .filter(([, text]) => text !== '–')
    .map(([{ title, unit }, text]) => `${title} ${text}${unit ? ` ${unit}` : ''}`);

/** Finished proofs as pictures side by side, under each what it was made with and what came out. */
export function pictureSheet(name: string, proofs: readonly ComparedProof[]): PictureSheet {
  return {
    title: name || 'Proofs',
    note: 'Foreburn: predicted, not measured. All at one scale; colours are the proofs’ own.',
    columns: proofs.length === 4 ? 2 : SHEET_COLUMNS,
    mostPixels: MOST_PIXELS,
    pictures: proofs.map((proof) => ({
      source: { kind: 'proof', id: proof.record.id },
      title: proof.name,
      lines: [...inPairs(said(SETTING_COLUMNS, proof), 3), ...inPairs(said(OUTCOME_COLUMNS, proof), 3)],
    })),
  };
}

/** Phrases put together, so many to a line. */
function inPairs(phrases: readonly string[], perLine: number): string[] {
  const lines: string[] = [];
  for (let i = 0; i < phrases.length; i += perLine) lines.push(phrases.slice(i, i + perLine).join(' · '));
  return lines;
}

/** Text that begins so would be taken for a formula by a table program, as would what hides behind a tab or a line break. */
const FORMULA = /^[=+\-@\t\r\n]/;

/** A value of a table: numbers stay numbers, null is left empty. */
type CsvValue = string | number | null;

/**
 * Comma-separated values after RFC 4180 (Y. Shafranovich, 2005): records end with CR LF, fields with commas, quotes or line breaks are
 * quoted and their quotes doubled. Text that a table program would take for a formula is given an apostrophe, so that it stays text.
 * Numbers that are not finite are left empty.
 */
export const encodeCsv = (records: readonly (readonly CsvValue[])[]): string =>
  records.map((record) => `${record.map(csvField).join(',')}\r\n`).join('');

function csvField(value: CsvValue): string {
  if (value === null) return '';
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  const text = FORMULA.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
