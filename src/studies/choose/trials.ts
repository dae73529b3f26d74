import { linearRgbToLab } from '../../base/color/lab.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { type CoarseScene, lightOf, likelyWarmthK } from '../../burn/tone-scale.ts';
import { type AppearanceTable, appearanceLab, burnDirection, intactRgb } from '../../physics/material/appearance.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { type Facts, factsOf } from './facts.ts';

type Where = 'mean' | 'cool' | 'hot';
/**
 * Rows are not equally warm everywhere: what the proof's own maps of four pictures (30–140 mm) have on average. A tenth of the places is
 * cooler than `cool`; round `hot` lie the ends of rows, where the beam comes back soon.
 */
export const WARMTH_OVER_MEAN: Readonly<Record<Where, number>> = { mean: 1, cool: 0.75, hot: 2.2 };
/** Share of the picture that counts as hot. */
export const HOT_SHARE = 0.06;

/** Everything a candidate is judged with. */
export interface Trials {
  readonly piece: Piece;
  readonly appearance: AppearanceTable;
  readonly runner: SwathRunner;
  readonly facts: Facts;
  readonly lightens: boolean;
  /** Lightness of the stack unburned and burned clean, the darker first. */
  readonly endsL: readonly [number, number];
  /** How warm a pass finds its work: on the whole, or where it is coolest or hottest. */
  warmthsK(pass: Pass, where?: Where): number[];
}

export function createTrials(
  piece: Piece,
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: SwathRunner,
): Trials {
  const light = lightOf(scene, piece.picture.tone);
  return {
    piece,
    appearance,
    runner,
    facts: factsOf(piece, scene),
    lightens: burnDirection(piece.stack, piece.slab.wood) === 'lightens',
    endsL: stackEnds(piece, appearance),
    warmthsK: (pass, where = 'mean') =>
      piece.heat.carryOver ? [WARMTH_OVER_MEAN[where] * likelyWarmthK(piece, pass, scene, light)] : [],
  };
}

/** Lightness that the stack can have at most and at least: unburned, and the topmost coat gone (bare wood: charred through). */
function stackEnds(piece: Piece, table: AppearanceTable): [number, number] {
  const { coats } = piece.stack;
  const intact = linearRgbToLab(intactRgb(table, piece.stack))[0];
  const burned =
    coats.length === 0
      ? appearanceLab(table, 0, 200, 1 / table.perExcess)[0]
      : appearanceLab(table, 1, coats[1]?.dryThicknessUm ?? 0)[0];
  return [Math.min(intact, burned), Math.max(intact, burned)];
}
