import { encodePieceFile } from '../../piece/file.ts';
import { pieceImages } from '../../piece/images.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import type { PieceState } from './piece-store.ts';

/** A piece with its photograph and its images as the bytes of a piece file. */
export function pieceFileBytes({ piece, photo }: PieceState): Uint8Array {
  const images = new Map<string, Uint8Array>();
  const add = (name: string, bytes: Uint8Array | undefined | null) => {
    if (bytes) images.set(name, bytes);
  };
  add(piece.picture.file, photo && photoBytes(photo.key));
  for (const name of pieceImages(piece)) add(name, photoBytes(name));
  return encodePieceFile({ piece, images });
}
