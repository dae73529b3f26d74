import { createPiece } from '../piece/defaults.ts';
import type { Piece } from '../piece/schema.ts';

/** Name of the photograph inside the demo piece's file. */
export const DEMO_PICTURE_FILE = 'hollin-reach.jpg';

/** The piece that shows what Foreburn does: "Hollin Reach" on an oval lime-wood slab. */
export function createDemoPiece(): Piece {
  return createPiece('Hollin Reach', DEMO_PICTURE_FILE);
}
