import type { Quantity } from '../../base/quantity.ts';
import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../base/units.ts';
import { type FieldPath, fieldOf } from '../../piece/fields.ts';
import { type Pass, type Piece, SCREEN_METHODS, type ScreenMethod } from '../../piece/schema.ts';

export const GRID_SETTINGS = ['light-end', 'dark-end', 'feed', 'row-pitch', 'focus', 'film', 'screen'] as const;
export type GridSettingId = (typeof GRID_SETTINGS)[number];
export type NumberSettingId = Exclude<GridSettingId, 'screen'>;
/** In internal units: shares of power, mm/s, mm, µm of film; or a screen's method. */
export type GridValue = number | ScreenMethod;

/** Most values along one side of a grid. */
export const MOST_VALUES = 5;

/** The field that a setting is; of several passes any will do. */
export const settingField = (setting: NumberSettingId): Quantity => fieldOf(FIELDS[setting]);

const FIELDS: Readonly<Record<NumberSettingId, FieldPath>> = {
  'light-end': 'passes.0.lightEndPower',
  'dark-end': 'passes.0.darkEndPower',
  feed: 'passes.0.feedMmPerS',
  'row-pitch': 'passes.0.rowPitchMm',
  focus: 'passes.0.focusOffsetMm',
  film: 'stack.coats.0.dryThicknessUm',
};

/** Least and greatest value that a setting may have in a piece. */
export function rangeOf(setting: NumberSettingId, piece: Piece): readonly [number, number] {
  const { low, high } = settingField(setting);
  return [low, setting === 'feed' ? piece.machine.motion.maxFeedMmPerS : high];
}

/** Whether a piece has such a setting: bare wood has no film. */
export const hasSetting = (setting: GridSettingId, piece: Piece): boolean =>
  setting !== 'film' || piece.stack.coats.length > 0;

/** What a setting is at in a piece; of several passes in the one with that index. */
export function settingOf(piece: Piece, setting: GridSettingId, pass: number): GridValue {
  const of = piece.passes[pass];
  switch (setting) {
    case 'light-end':
      return of.lightEndPower;
    case 'dark-end':
      return of.darkEndPower;
    case 'feed':
      return of.feedMmPerS;
    case 'row-pitch':
      return of.rowPitchMm;
    case 'focus':
      return of.focusOffsetMm;
    case 'screen':
      return of.screen;
    case 'film':
      return piece.stack.coats[0]?.dryThicknessUm ?? 0;
  }
}

/** The piece with a setting changed. */
export function withSetting(piece: Piece, setting: GridSettingId, pass: number, value: GridValue): Piece {
  if (setting === 'film') {
    const [top, ...under] = piece.stack.coats;
    if (!top) return piece;
    return { ...piece, stack: { ...piece.stack, coats: [{ ...top, dryThicknessUm: Number(value) }, ...under] } };
  }
  const part = passPart(setting, value);
  return { ...piece, passes: piece.passes.map((one, i) => (i === pass ? { ...one, ...part } : one)) };
}

function passPart(setting: Exclude<GridSettingId, 'film'>, value: GridValue): Partial<Pass> {
  switch (setting) {
    case 'light-end':
      return { lightEndPower: Number(value) };
    case 'dark-end':
      return { darkEndPower: Number(value) };
    case 'feed':
      return { feedMmPerS: Number(value) };
    case 'row-pitch':
      return { rowPitchMm: Number(value) };
    case 'focus':
      return { focusOffsetMm: Number(value) };
    case 'screen':
      return { screen: SCREEN_METHODS.find((method) => method === value) ?? 'floyd-steinberg' };
  }
}

/** One screen of each kind, to begin a grid with. */
const TYPICAL_SCREENS: readonly ScreenMethod[] = [
  'tone-dependent',
  'stucki',
  'blue-noise',
  'clustered-dot',
  'continuous',
  'floyd-steinberg',
  'bayer-8',
];

/** Up to five values to begin with, in rising order, what the piece has now among them as far as the machine can do it. */
export function usualValues(piece: Piece, setting: GridSettingId, pass: number): GridValue[] {
  const now = settingOf(piece, setting, pass);
  if (typeof now !== 'number' || setting === 'screen') {
    const others = TYPICAL_SCREENS.filter((method) => method !== now);
    return [now, ...others].slice(0, MOST_VALUES);
  }
  const [low, high] = rangeOf(setting, piece);
  const values = STEPS[setting].map((step) => (step === 0 ? now : move(setting, now, step)));
  const held = values.map((value) => Math.min(high, Math.max(low, value)));
  return [...new Set(held)].sort((a, b) => a - b);
}

/** Shares of the value now, or for powers and focus what is added. */
const STEPS: Record<NumberSettingId, readonly number[]> = {
  'light-end': [-0.1, -0.05, 0, 0.05, 0.1],
  'dark-end': [-0.04, -0.02, 0, 0.02, 0.04],
  feed: [-0.3, -0.15, 0, 0.2, 0.4],
  'row-pitch': [-0.25, -0.12, 0, 0.15, 0.3],
  focus: [-4, -2, 0, 2, 4],
  film: [-0.3, -0.15, 0, 0.15, 0.3],
};

function move(setting: NumberSettingId, now: number, step: number): number {
  const to = (value: number, unit: number) => Number((Math.round(value / unit) * unit).toFixed(9));
  switch (setting) {
    case 'light-end':
    case 'dark-end':
      return to(now + step, 0.005);
    case 'focus':
      return to(now + step, 0.1);
    case 'feed':
      return mmPerMinToMmPerS(to(mmPerSToMmPerMin(now * (1 + step)), 100));
    case 'row-pitch':
      return to(now * (1 + step), 0.001);
    case 'film':
      return to(now * (1 + step), 0.5);
  }
}
