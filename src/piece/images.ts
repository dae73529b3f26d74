import type { Piece } from './schema.ts';

/** Names of the images that a piece keeps beside its photograph: the slab's face, pictures of what came out. */
export const pieceImages = ({ slab, log }: Piece): string[] => [
  ...(slab.photo ? [slab.photo.file] : []),
  ...log.flatMap(({ photo }) => (photo === null ? [] : [photo])),
];

/**
 * The piece with its images under new names. `rename` gives the new name, or null for an image that is missing: it is done without.
 */
export function renameImages(piece: Piece, rename: (name: string) => string | null): Piece {
  const face = piece.slab.photo && rename(piece.slab.photo.file);
  const photo = piece.slab.photo && face !== null ? { ...piece.slab.photo, file: face } : null;
  const log = piece.log.map((entry) => ({ ...entry, photo: entry.photo === null ? null : rename(entry.photo) }));
  return { ...piece, slab: { ...piece.slab, photo }, log };
}
