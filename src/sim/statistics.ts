import type { PassTime } from '../core/raster/pass-time.ts';
import { HISTOGRAM_BINS, type StripStats } from './strip-task.ts';

/** What a proof comes to. */
export interface ProofSummary {
  readonly burnTimeS: number;
  readonly rows: number;
  /** Share of the light areas' open dots that keep more of the topmost coat than passes for cleared, 0–1. */
  readonly unclearedShare: number;
  /** Share of the picture where the undercoat is discoloured or broken through, 0–1. */
  readonly scorchedShare: number;
  /** Mean residue of the topmost coat in the light areas, µm. */
  readonly meanResidueUm: number;
  /** Deepest place, coats and wood together, µm. */
  readonly maxDepthUm: number;
  /** Light areas as a share of the picture, 0–1. */
  readonly lightShare: number;
  /** Light cells by residue, bins as in `strip-task.ts`. */
  readonly residueHistogram: readonly number[];
}

export type RunningStats = { -readonly [Key in keyof StripStats]: StripStats[Key] };

export const emptyStats = (): RunningStats => ({
  pictureCells: 0,
  lightCells: 0,
  unclearedCells: 0,
  scorchedCells: 0,
  residueSumUm: 0,
  maxDepthUm: 0,
  histogram: new Uint32Array(HISTOGRAM_BINS),
});

export function addStats(sum: RunningStats, strip: StripStats): void {
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
