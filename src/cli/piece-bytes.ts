import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { encodePieceFile } from '../piece/file.ts';
import type { Piece } from '../piece/schema.ts';
import type { OpenedJob } from './open-job.ts';

/** A piece made of an opened one as a `.foreburn` file that holds its photograph; `photoPath` if that came from a file of its own. */
export async function pieceBytes(piece: Piece, job: OpenedJob, photoPath?: string): Promise<Uint8Array> {
  const images = new Map(job.images);
  let file = piece.picture.file;
  if (photoPath) {
    images.delete(file);
    // As long as the schema takes.
    file = basename(photoPath).slice(-200);
    images.set(file, await readFile(photoPath));
  }
  return encodePieceFile({ piece: { ...piece, picture: { ...piece.picture, file } }, images });
}
