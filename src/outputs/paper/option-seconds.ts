import type { Photo, Preparation } from '../../burn/prepare.ts';
import type { QuoteOption } from '../../piece/quote-schema.ts';
import type { Piece } from '../../piece/schema.ts';
import { passSeconds } from '../../studies/rescue/pass-minutes.ts';
import { pieceOfOption } from './quote-option.ts';

/** How long the machine burns for an option of the quote, s: its picture's size, its number of passes. */
export function optionSeconds(preparation: Preparation, photo: Photo, piece: Piece, option: QuoteOption): number {
  const sized = pieceOfOption(piece, option);
  return sized.passes.reduce((sum, pass) => sum + passSeconds(preparation, photo, sized, pass), 0);
}
