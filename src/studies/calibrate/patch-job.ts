import { planPass } from '../../burn/plan.ts';
import type { SwathPass } from '../../burn/swath-task.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import type { CardBurn } from '../../vision/card/card.ts';

/** A pass planned for a patch or line, with its tables as rows. */
export interface PatchJob extends SwathPass {
  readonly weightRows: number[][];
  readonly layerRows: number[][];
}

type Grid = Parameters<typeof planPass>[2];

/** What is planned for a piece serves all patches with the same settings but the power's level. */
const planned = new WeakMap<Piece, Map<string, PatchJob>>();

export function jobOf(piece: Piece, burn: CardBurn, grid: Grid, headingRad = 0): PatchJob {
  let jobs = planned.get(piece);
  if (!jobs) {
    jobs = new Map();
    planned.set(piece, jobs);
  }
  const { lightEndPower, darkEndPower, feedMmPerS, rowPitchMm, focusOffsetMm } = burn;
  const settings = [lightEndPower, darkEndPower, feedMmPerS, rowPitchMm, focusOffsetMm, headingRad];
  const key = [...settings, grid.width, grid.subY, grid.pitchMm].join(' ');
  let job = jobs.get(key);
  if (!job) {
    const pass = planPass(piece, passOf(piece, burn, headingRad), grid);
    job = {
      ...pass,
      weightRows: rowsOf(pass.weights.data, pass.weights.width),
      layerRows: rowsOf(pass.layers.data, pass.layers.width),
    };
    jobs.set(key, job);
  }
  return job;
}

/** Watts of a burn in continuous tone. Set power may lie between two levels here: it is not rounded. */
export function wattsOf(job: PatchJob, { lightness }: CardBurn): number {
  const place = lightness * 255;
  const level = Math.min(254, Math.floor(place));
  return job.wattsAt[level] + (job.wattsAt[level + 1] - job.wattsAt[level]) * (place - level);
}

export const passOf = (piece: Piece, burn: CardBurn, headingRad: number): Pass => ({
  ...piece.passes[0],
  lightEndPower: burn.lightEndPower,
  darkEndPower: burn.darkEndPower,
  feedMmPerS: burn.feedMmPerS,
  rowPitchMm: burn.rowPitchMm,
  headingRad,
  screen: burn.screen,
  serpentine: burn.serpentine,
  focusOffsetMm: burn.focusOffsetMm,
  rows: 'one-way',
  tone: null,
  only: null,
});

const rowsOf = (data: Float32Array, width: number): number[][] =>
  Array.from({ length: data.length / width }, (_, r) => Array.from(data.subarray(r * width, (r + 1) * width)));
