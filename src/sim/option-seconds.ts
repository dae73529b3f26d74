import { pieceOfOption } from '../core/paper/quote-option.ts';
import type { QuoteOption } from '../core/piece/quote-schema.ts';
import type { Piece } from '../core/piece/schema.ts';
import type { Photo, Preparation } from './prepare.ts';
import { passSeconds } from './rescue/pass-minutes.ts';

/** How long the machine burns for an option of the quote, s: its picture's size, its number of passes. */
export function optionSeconds(preparation: Preparation, photo: Photo, piece: Piece, option: QuoteOption): number {
  const sized = pieceOfOption(piece, option);
  return sized.passes.reduce((sum, pass) => sum + passSeconds(preparation, photo, sized, pass), 0);
}
