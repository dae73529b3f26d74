import type { Piece } from '../../piece/schema.ts';
import { copySettings } from '../../shop/copy-settings.ts';

/** A piece with the paint, machine and passes of another, and nothing that belonged to its slab or its photograph. */
export function likeBefore(piece: Piece, before: Piece): Piece {
  const copied = copySettings(piece, before, ['coats', 'machine', 'passes']);
  // The curve belongs to the paint; what was turned beside it, to the photograph.
  const { curve } = before.picture.tone;
  return { ...copied, picture: { ...copied.picture, tone: { ...copied.picture.tone, curve } } };
}
