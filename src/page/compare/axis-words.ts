import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../base/units.ts';
import type { Piece, ScreenMethod } from '../../piece/schema.ts';
import {
  type GridSettingId,
  type GridValue,
  MOST_VALUES,
  type NumberSettingId,
  rangeOf,
} from '../../studies/grid/grid-setting.ts';
import { screenTitle } from './columns.ts';

interface AxisWords {
  readonly label: string;
  /** What it does to the wood. */
  readonly note: string;
  readonly unit: string;
  readonly digits: number;
  toPage(value: number): number;
  fromPage(value: number): number;
}

const same = (value: number): number => value;
const percent = {
  unit: '%',
  digits: 1,
  toPage: (value: number) => 100 * value,
  fromPage: (value: number) => value / 100,
};

export const AXIS_WORDS: Readonly<Record<NumberSettingId, AxisWords>> = {
  'light-end': {
    ...percent,
    label: 'Light-end power',
    note: 'How much of the top coat goes where the picture is light.',
  },
  'dark-end': {
    ...percent,
    label: 'Dark-end power',
    note: 'Whether the beam leaves a trace where the picture is dark.',
  },
  feed: {
    label: 'Feed rate',
    note: 'Faster burns shallower and is done sooner.',
    unit: 'mm/min',
    digits: 0,
    toPage: mmPerSToMmPerMin,
    fromPage: mmPerMinToMmPerS,
  },
  'row-pitch': {
    label: 'Row pitch',
    note: 'Closer rows overlap more and take longer; every pitch is screened anew.',
    unit: 'mm',
    digits: 3,
    toPage: same,
    fromPage: same,
  },
  focus: {
    label: 'Focus offset',
    note: 'A spot out of focus is wider and weaker in its middle.',
    unit: 'mm',
    digits: 1,
    toPage: same,
    fromPage: same,
  },
  film: {
    label: 'Top coat, dry',
    note: 'A thicker film takes more to clear.',
    unit: 'µm',
    digits: 1,
    toPage: same,
    fromPage: same,
  },
};

export const axisLabel = (setting: GridSettingId): string =>
  setting === 'screen' ? 'Screen' : AXIS_WORDS[setting].label;

export const axisNote = (setting: GridSettingId): string =>
  setting === 'screen' ? 'How tones are made of dots.' : AXIS_WORDS[setting].note;

/** A value with its unit. */
export function sayValue(setting: GridSettingId, value: GridValue): string {
  if (setting === 'screen') return screenTitle(value as ScreenMethod);
  return `${bareValue(setting, Number(value))} ${AXIS_WORDS[setting].unit}`;
}

const bareValue = (setting: NumberSettingId, value: number): string => {
  const { toPage, digits } = AXIS_WORDS[setting];
  return String(Number(toPage(value).toFixed(digits)));
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
  const held = numbers.map((value) => Math.min(high, Math.max(low, AXIS_WORDS[setting].fromPage(value))));
  return [...new Set(held)].sort((a, b) => a - b);
}
