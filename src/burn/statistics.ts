import type { PassTime } from '../physics/raster/pass-time.ts';
import { HISTOGRAM_BINS, type StripStats } from './strip-task.ts';

/**
 * What a proof comes to. What is counted, here and wherever the product speaks of the same:
 *
 * - a **cell** is a square of the first pass's row pitch, with the mean of what eight places in it come out as (`subCells`);
 * - the **picture** is all cells that the prepared picture covers at all;
 * - a **light dot** is a cell of the picture whose prepared lightness is at least `LIGHT_AREA_LIGHTNESS` and on which some pass sets a dot of
 *   the light end (in continuous tone: one past the middle). The dark dots that a screen leaves between them do not count, for they are
 *   meant to stay: of an area of lightness 0.9 about 78 in 100 cells are light dots.
 */
export interface ProofSummary {
  /** All passes with their ways and turns. */
  readonly burnTimeS: number;
  /** Rows that are travelled, of all passes. */
  readonly rows: number;
  /** Share of the light dots whose mean residue of the topmost coat is over `CLEARED_RESIDUE_UM`, 0–1. */
  readonly unclearedShare: number;
  /** Share of the picture's cells where the coat under the topmost is discoloured (`SCORCHED_LEVEL`) or broken through, 0–1. */
  readonly scorchedShare: number;
  /** Mean residue of the topmost coat on the light dots, µm. */
  readonly meanResidueUm: number;
  /** Deepest of all places burned, coats and wood together, µm. */
  readonly maxDepthUm: number;
  /** Light dots as a share of the picture's cells, 0–1. */
  readonly lightShare: number;
  /** Light dots by residue, bins as in `strip-task.ts`. */
  readonly residueHistogram: readonly number[];
}

export type RunningStats = { -readonly [Key in keyof StripStats]: StripStats[Key] };

export const emptyStats = (): RunningStats => ({
  unsound: 0,
  pictureCells: 0,
  lightCells: 0,
  unclearedCells: 0,
  scorchedCells: 0,
  residueSumUm: 0,
  maxDepthUm: 0,
  histogram: new Uint32Array(HISTOGRAM_BINS),
});

export function addStats(sum: RunningStats, strip: StripStats): void {
  sum.unsound += strip.unsound;
  sum.pictureCells += strip.pictureCells;
  sum.lightCells += strip.lightCells;
  sum.unclearedCells += strip.unclearedCells;
  sum.scorchedCells += strip.scorchedCells;
  sum.residueSumUm += strip.residueSumUm;
  sum.maxDepthUm = Math.max(sum.maxDepthUm, strip.maxDepthUm);
  for (let i = 0; i < HISTOGRAM_BINS; i++) sum.histogram[i] += strip.histogram[i];
}

const share = (part: number, whole: number): number => (whole > 0 ? part / whole : 0);

export function summarise(stats: StripStats, passes: readonly PassTime[]): ProofSummary {
  return {
    burnTimeS: passes.reduce((sum, pass) => sum + pass.timeS, 0),
    rows: passes.reduce((sum, pass) => sum + pass.rows, 0),
    unclearedShare: share(stats.unclearedCells, stats.lightCells),
    scorchedShare: share(stats.scorchedCells, stats.pictureCells),
    meanResidueUm: share(stats.residueSumUm, stats.lightCells),
    maxDepthUm: stats.maxDepthUm,
    lightShare: share(stats.lightCells, stats.pictureCells),
    residueHistogram: Array.from(stats.histogram),
  };
}
