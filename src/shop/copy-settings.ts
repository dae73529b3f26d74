import { PRESET_CERTAINTY } from '../piece/defaults.ts';
import type { Piece } from '../piece/schema.ts';

/** What one piece can take from another: what a maker has for longer than one slab. */
export const SETTINGS = ['coats', 'machine', 'passes', 'tones', 'rates'] as const;

export type Setting = (typeof SETTINGS)[number];

/** Client and options belong to the order, all else of a quote to the workshop. */
function withRates(piece: Piece, { quote }: Piece): Piece {
  const { client, options, note } = piece.quote;
  return { ...piece, quote: { ...quote, client, options, note } };
}

/** A film that was measured belongs to its slab. */
const withCoats = (piece: Piece, { stack }: Piece): Piece => ({
  ...piece,
  stack: { ...stack, film: { ...stack.film, shown: 'mean', found: null } },
});

/** On a bed of another size the slab comes to lie in its middle. */
function withMachine(piece: Piece, { machine, heat, placement }: Piece): Piece {
  const { bedWidthMm, bedHeightMm } = placement;
  const same = bedWidthMm === piece.placement.bedWidthMm && bedHeightMm === piece.placement.bedHeightMm;
  const middle = same ? {} : { xMm: bedWidthMm / 2, yMm: bedHeightMm / 2 };
  return { ...piece, machine, heat, placement: { ...piece.placement, bedWidthMm, bedHeightMm, ...middle } };
}

/** Tones and places that a pass is kept to belong to the photograph. */
function withPasses(piece: Piece, { passes }: Piece): Piece {
  const [first, ...more] = passes.map((pass) => ({ ...pass, tone: null, only: null }));
  return { ...piece, passes: [first, ...more] };
}

const withTones = (piece: Piece, { picture }: Piece): Piece => ({
  ...piece,
  picture: { ...piece.picture, tone: picture.tone },
});

const TAKES: Readonly<Record<Setting, (piece: Piece, from: Piece) => Piece>> = {
  coats: withCoats,
  machine: withMachine,
  passes: withPasses,
  tones: withTones,
  rates: withRates,
};

/**
 * A piece with settings of another. What a card said holds for its paint on its machine, and so does an entry of the shelf: they come along where
 * both are the other's then, and where only one of them changes nothing is known any more.
 */
export function copySettings(piece: Piece, from: Piece, which: readonly Setting[]): Piece {
  const copied = which.reduce((to, setting) => TAKES[setting](to, from), piece);
  if (copied.stack === piece.stack && copied.machine === piece.machine) return copied;
  const alike = (a: Piece, b: Piece): boolean =>
    JSON.stringify([a.stack.coats, a.machine]) === JSON.stringify([b.stack.coats, b.machine]);
  if (alike(copied, from)) return { ...copied, certainty: from.certainty, shelfEntry: from.shelfEntry };
  return alike(copied, piece) ? copied : { ...copied, certainty: PRESET_CERTAINTY, shelfEntry: null };
}
