import type { Format } from '../format.ts';
import { card, piece, reading, shelf, strokes } from './documents.ts';
import { path, svg } from './drawings.ts';
import { jpeg, pagePng, png, tiff, webp } from './pictures.ts';
import { pieceZip } from './piece-zip.ts';
import { code, numbers, options, orders, ownLines } from './typed.ts';

/** Everything that comes in from outside, by the name that `npm run fuzz -- --format` takes. */
export const FORMATS: Readonly<Record<string, Format>> = {
  piece,
  strokes,
  'piece-zip': pieceZip,
  card,
  reading,
  shelf,
  svg,
  path,
  jpeg,
  png,
  webp,
  tiff,
  'page-png': pagePng,
  options,
  orders,
  numbers,
  'own-lines': ownLines,
  code,
};
