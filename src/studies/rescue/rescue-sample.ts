import { Cancelled } from '../../base/cancelled.ts';
import { luminanceOf } from '../../base/color/luminance.ts';
import type { Photo } from '../../burn/prepare.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import { intactRgb } from '../../physics/material/appearance.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { type Outcome, outcomeOf } from '../sure/outcome.ts';
import { createSample } from '../sure/sample.ts';
import type { RescueTools } from './rescue-scene.ts';

/** An outcome with what a maker sees of it. */
export interface Seen extends Outcome {
  /** How far the light areas have come from the unburned stack to what they are when all of the coat is gone there, 0–1. */
  readonly way: number;
}

/** The picture's own dots under the passes that are burned and a further one, for the judge's answers on pieces that look as the maker says. */
export interface RescueSample {
  readonly piece: Piece;
  /** The piece with the passes so far, or with one more whose dots are those of the sample. @throws Cancelled if told to stop. */
  outcome(piece: Piece): Promise<Seen>;
}

/** Powers over those of the piece, close together; at the one that comes out lightest the coat is gone and nothing is scorched yet. */
const AMPLE = Array.from({ length: 16 }, (_, i) => 0.4 * 1.13 ** i);
/** Squares are fewer than for a verdict: a search burns them a thousand times. */
const TILES = 96;

/** @param further the pass whose tones, mask and rows the further pass has. @throws Cancelled. */
export async function createRescueSample(
  piece: Piece,
  further: Pass,
  photo: Photo,
  tools: RescueTools,
): Promise<RescueSample> {
  const both = { ...piece, passes: [...piece.passes, further] };
  const ready = await tools.ready(both, photo);
  const sample = createSample(both, ready, tools.runner, TILES);
  const even = sample.layout.places.map(() => 1);
  const tried: Outcome[] = [];
  for (const more of AMPLE) {
    const passes = piece.passes.map((pass) => ({ ...pass, lightEndPower: Math.min(1, more * pass.lightEndPower) }));
    tried.push(outcomeOf(sample, await sample.burn({ ...piece, passes }, even)));
  }
  const clear = tried.reduce((a, b) => (b.lightL > a.lightL ? b : a));
  const intactL = 100 * luminanceToLightness(luminanceOf(intactRgb(ready.appearance, piece.stack)));
  return {
    piece,
    async outcome(other) {
      if (tools.goOn && !(await tools.goOn())) throw new Cancelled();
      const outcome = outcomeOf(sample, await sample.burn(other));
      return {
        ...outcome,
        way: (outcome.lightL - intactL) / Math.max(1, clear.lightL - intactL),
        // What varies on a clear piece too is the picture's own texture.
        blotch: Math.sqrt(Math.max(0, outcome.blotch ** 2 - clear.blotch ** 2)),
      };
    },
  };
}
