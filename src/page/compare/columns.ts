import { mmPerSToMmPerMin, pitchMmToRowsPerInch } from '../../base/units.ts';
import { SCREENS } from '../../image/screens/screen-list.ts';
import type { Pass, ScreenMethod } from '../../piece/schema.ts';
import { likelyNumbers } from '../burn/likely-numbers.ts';
import type { ProofRecord } from '../burn/proof-store.ts';
import { percent } from '../burn/words.ts';

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

/** A screen's name without its year. */
export const screenTitle = (method: ScreenMethod): string =>
  (SCREENS.find((screen) => screen.method === method)?.title ?? method).replace(/ \(.*$/, '');

/** Settings: a value for each pass. */
export const SETTING_COLUMNS: readonly Column[] = [
  pass('light', 'Light end', '%', 1, (one) => 100 * one.lightEndPower),
  pass('dark', 'Dark end', '%', 1, (one) => 100 * one.darkEndPower),
  pass('feed', 'Feed', 'mm/min', 0, (one) => mmPerSToMmPerMin(one.feedMmPerS)),
  pass('rows', 'Rows', 'per inch', 0, (one) => pitchMmToRowsPerInch(one.rowPitchMm)),
  pass('screen', 'Screen', '', 0, (one) => screenTitle(one.screen)),
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

const hundred = (value: number | undefined) => (value === undefined ? null : 100 * value);
const share = (value: number) => percent(value / 100).replace(/ %$/, '');

/** What came out: one number a proof. */
export const OUTCOME_COLUMNS: readonly Column[] = [
  outcome('minutes', 'Time', 'min', 1, ({ result }) => result && result.summary.burnTimeS / 60),
  outcome('uncleared', 'Uncleared', '%', 2, (record) => hundred(likelyNumbers(record)?.unclearedShare), share),
  outcome('residue', 'Residue', 'µm', 2, (record) => likelyNumbers(record)?.residueUm),
  outcome('scorched', 'Scorched', '%', 2, (record) => hundred(likelyNumbers(record)?.scorchedShare), share),
  outcome('mottle', 'Mottle', 'density', 4, ({ diagnosis }) => diagnosis?.metrics.mottle),
  outcome('tone-error', 'Tone error', 'L*', 1, ({ diagnosis }) => diagnosis?.metrics.toneError.rms),
  outcome('clears', 'Clears', '% likely', 0, ({ sure }) => (sure?.clears == null ? null : 100 * sure.clears)),
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
