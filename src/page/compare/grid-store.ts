import { create } from 'zustand';
import type { Crop } from '../../burn/proof.ts';
import type { Piece } from '../../piece/schema.ts';
import {
  GRID_SETTINGS,
  type GridSettingId,
  type GridValue,
  hasSetting,
  settingOf,
  usualValues,
  withSetting,
} from '../../studies/grid/grid-setting.ts';
import type { CropAnswer } from '../burn/worker/questions.ts';
import { createTask } from '../remote/task.ts';

export interface GridAxis {
  readonly setting: GridSettingId;
  readonly values: readonly GridValue[];
}

/** What a grid is to be made of. */
export interface GridPlan {
  readonly across: GridAxis;
  readonly down: GridAxis;
  /** Index of the pass whose settings change. */
  readonly pass: number;
  readonly crop: Crop | null;
}

export interface GridCell {
  readonly column: number;
  readonly row: number;
  readonly piece: Piece;
  /** The piece as it is now. */
  readonly isNow: boolean;
  readonly answer: CropAnswer | null;
}

/** A grid that was burned, or is being burned. */
export interface BurnedGrid {
  readonly plan: GridPlan & { readonly crop: Crop };
  readonly piece: Piece;
  readonly photoKey: string;
  readonly cells: readonly GridCell[];
  readonly tookMs: number | null;
}

interface GridState {
  readonly plan: GridPlan | null;
  readonly grid: BurnedGrid | null;
}

/** Stays while the page is open, so that closing the grid loses nothing. */
export const useGridStore = create<GridState>()(() => ({
  plan: null,
  grid: null,
}));

export const setGrid = useGridStore.setState;

/** The grid being burned. */
export const burning = createTask();

/** Powers across, and down what nobody knows to the micrometre: the dry coat; without one, the rows. */
export function firstPlan(piece: Piece): GridPlan {
  const down = hasSetting('film', piece) ? 'film' : 'row-pitch';
  return {
    across: { setting: 'light-end', values: usualValues(piece, 'light-end', 0) },
    down: { setting: down, values: usualValues(piece, down, 0) },
    pass: 0,
    crop: null,
  };
}

/** The plan kept from before, as far as it goes with the piece as it is now. */
export function planFor(piece: Piece, kept: GridPlan | null): GridPlan {
  if (!kept) return firstPlan(piece);
  const pass = kept.pass < piece.passes.length ? kept.pass : 0;
  const axis = ({ setting, values }: GridAxis): GridAxis =>
    values.includes(settingOf(piece, setting, pass))
      ? { setting, values }
      : { setting, values: usualValues(piece, setting, pass) };
  const possible = hasSetting(kept.across.setting, piece) && hasSetting(kept.down.setting, piece);
  return possible ? { across: axis(kept.across), down: axis(kept.down), pass, crop: kept.crop } : firstPlan(piece);
}

/** Settings that an axis may have beside the other one. */
export const choicesBeside = (other: GridSettingId, piece: Piece): GridSettingId[] =>
  GRID_SETTINGS.filter((setting) => setting !== other && hasSetting(setting, piece));

/** The cells of a plan, those that share what takes long to make one after the other. */
export function cellsOf(plan: GridPlan, piece: Piece): GridCell[] {
  const { across, down, pass } = plan;
  const cells = across.values.flatMap((x, column) =>
    down.values.map((y, row): GridCell => {
      const changed = withSetting(withSetting(piece, across.setting, pass, x), down.setting, pass, y);
      const isNow = settingOf(piece, across.setting, pass) === x && settingOf(piece, down.setting, pass) === y;
      return { column, row, piece: changed, isNow, answer: null };
    }),
  );
  const slow = SLOWNESS[across.setting] >= SLOWNESS[down.setting];
  return slow ? cells : cells.sort((a, b) => a.row - b.row || a.column - b.column);
}

/** What has to be prepared anew for another value: dots, colours, nothing. */
const SLOWNESS: Record<GridSettingId, number> = {
  'row-pitch': 4,
  screen: 3,
  film: 2,
  focus: 1,
  feed: 0,
  'light-end': 0,
  'dark-end': 0,
};
