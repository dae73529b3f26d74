import type { QuoteOption } from '../../piece/quote-schema.ts';
import type { Piece } from '../../piece/schema.ts';

/** The piece as an option of its quote has it: the picture's size, the number of passes. */
export function pieceOfOption(piece: Piece, { pictureWidthMm, passes }: QuoteOption): Piece {
  return {
    ...piece,
    picture: { ...piece.picture, widthMm: pictureWidthMm ?? piece.picture.widthMm },
    passes: piece.passes.slice(0, passes ?? piece.passes.length),
  };
}
