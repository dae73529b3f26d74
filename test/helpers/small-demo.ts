import { readFileSync } from 'node:fs';
import { decodePieceFile, encodePieceFile } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';

const DEMO = 'public/demo/hollin-reach.foreburn';

/** The demo piece with a sixth of its lengths, burned with the same passes: few of the dots, so that pages that open on it are sooner done. */
export const smallDemo = (): Buffer => changed((piece) => scaled(piece, 1 / 6));

/** The demo piece in all its size with rows far apart: as few dots, for tests that lay a picture of that size on a slab. */
export const coarseDemo = (): Buffer =>
  changed((piece) => ({ ...piece, passes: piece.passes.map((pass) => ({ ...pass, rowPitchMm: 0.5 })) }));

function changed(change: (piece: Piece) => Piece): Buffer {
  const { piece, images } = decodePieceFile(readFileSync(DEMO));
  return Buffer.from(encodePieceFile({ piece: change(piece), images }));
}

const scaled = (piece: Piece, by: number): Piece => ({
  ...piece,
  slab: {
    ...piece.slab,
    widthMm: piece.slab.widthMm * by,
    heightMm: piece.slab.heightMm * by,
    pithXMm: piece.slab.pithXMm * by,
    pithYMm: piece.slab.pithYMm * by,
    knots: piece.slab.knots.map((knot) => ({
      ...knot,
      xMm: knot.xMm * by,
      yMm: knot.yMm * by,
      diameterMm: knot.diameterMm * by,
    })),
  },
  picture: { ...piece.picture, widthMm: piece.picture.widthMm * by },
});
