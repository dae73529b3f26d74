import { readFileSync } from 'node:fs';
import { decodePieceFile, encodePieceFile } from '../../src/core/piece/file.ts';
import type { Piece } from '../../src/core/piece/schema.ts';

const DEMO = 'public/demo/hollin-reach.foreburn';

/** The demo piece with half its lengths, burned with the same passes: a quarter of the dots, so that pages that open on it are sooner done. */
export function smallDemo(): Buffer {
  const { piece, images } = decodePieceFile(readFileSync(DEMO));
  return Buffer.from(encodePieceFile({ piece: halved(piece), images }));
}

const halved = (piece: Piece): Piece => ({
  ...piece,
  slab: {
    ...piece.slab,
    widthMm: piece.slab.widthMm / 2,
    heightMm: piece.slab.heightMm / 2,
    pithXMm: piece.slab.pithXMm / 2,
    pithYMm: piece.slab.pithYMm / 2,
    knots: piece.slab.knots.map((knot) => ({
      ...knot,
      xMm: knot.xMm / 2,
      yMm: knot.yMm / 2,
      diameterMm: knot.diameterMm / 2,
    })),
  },
  picture: { ...piece.picture, widthMm: piece.picture.widthMm / 2 },
});
