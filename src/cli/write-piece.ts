import { readFile, writeFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { encodePieceFile } from '../core/piece/file.ts';
import type { Piece } from '../core/piece/schema.ts';
import { CliError } from './io.ts';
import type { OpenedJob } from './open-job.ts';

/**
 * Writes a piece made of an opened one as a `.foreburn` file that holds its photograph; `photoPath` if that came from a file of its own.
 * @throws CliError if it cannot be written.
 */
export async function writePiece(path: string, piece: Piece, job: OpenedJob, photoPath?: string): Promise<void> {
  const images = new Map(job.images);
  let file = piece.picture.file;
  if (photoPath) {
    images.delete(file);
    // As long as the schema takes.
    file = basename(photoPath).slice(-200);
    images.set(file, await readFile(photoPath));
  }
  const bytes = encodePieceFile({ piece: { ...piece, picture: { ...piece.picture, file } }, images });
  await writeFile(path, bytes).catch((error: Error) => {
    throw new CliError(`${path}: cannot be written (${error.message})`);
  });
}
