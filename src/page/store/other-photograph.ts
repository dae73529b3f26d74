import type { Piece } from '../../piece/schema.ts';

/** The piece without what was made for the photograph before, and what to say of that; null if nothing was. */
export function forOtherPhotograph(piece: Piece): { piece: Piece; notice: string | null } {
  const masked = piece.picture.strokes.length > 0;
  const placed = piece.passes.some(({ only }) => only !== null);
  const bare: Piece = {
    ...piece,
    picture: masked ? { ...piece.picture, strokes: [] } : piece.picture,
    passes: placed ? piece.passes.map((pass) => ({ ...pass, only: null })) : piece.passes,
  };
  return { piece: bare, notice: noticeOf(masked, placed) };
}

function noticeOf(masked: boolean, placed: boolean): string | null {
  if (masked && placed) {
    return 'The mask, and the places that a pass was kept to, belonged to the photograph before and went with it. Undo brings all of it back.';
  }
  if (masked) return 'The mask was painted on the photograph before and went with it. Undo brings both back.';
  if (placed) {
    return 'The places that a pass was kept to belonged to the photograph before: it burns everywhere now. Undo brings both back.';
  }
  return null;
}
