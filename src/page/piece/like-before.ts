import type { Piece } from '../../piece/schema.ts';

/** A piece with the paint, machine and passes of another, and nothing that belonged to its slab or its photograph. */
export function likeBefore(
  piece: Piece,
  { stack, machine, heat, certainty, passes, placement, picture }: Piece,
): Piece {
  const { bedWidthMm, bedHeightMm } = placement;
  const [first, ...more] = passes.map((pass) => ({ ...pass, tone: null, only: null }));
  return {
    ...piece,
    stack: { ...stack, film: { ...stack.film, shown: 'mean', found: null } },
    machine,
    heat,
    certainty,
    passes: [first, ...more],
    placement: { ...piece.placement, bedWidthMm, bedHeightMm, xMm: bedWidthMm / 2, yMm: bedHeightMm / 2 },
    // The curve belongs to the paint; what was turned beside it, to the photograph.
    picture: { ...piece.picture, tone: { ...piece.picture.tone, curve: picture.tone.curve } },
  };
}
