import { createPiece } from './defaults.ts';
import type { Piece } from './schema.ts';

/** Name of the demo photograph inside the demo piece. */
export const DEMO_PICTURE_FILE = 'hollin-reach.jpg';

/**
 * The demo piece: the default slab, coats and machine under the rendered photograph. Its faded shadows are deepened, and its power
 * is a little low, so that the proof has something to show: a few per cent of the light areas stay blotchy.
 */
export function createDemoPiece(): Piece {
  const piece = createPiece('Hollin Reach', DEMO_PICTURE_FILE);
  return {
    ...piece,
    slab: {
      ...piece.slab,
      knots: [{ xMm: -62, yMm: 14, diameterMm: 26, tiltRad: 0.5, filled: true }],
    },
    picture: { ...piece.picture, tone: { ...piece.picture.tone, exposureEv: -0.4, contrast: 0.35 } },
    passes: piece.passes.map((pass) => ({ ...pass, lightEndPower: 0.88 })),
  };
}
