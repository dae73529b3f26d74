import { readFile } from 'node:fs/promises';
import { decodePieceFile, type PieceFile } from '../core/piece/file.ts';
import { PieceError } from '../core/piece/parse.ts';
import { CliError } from './io.ts';

/** A piece and its images from a `.foreburn` file or its JSON. @throws CliError naming the file and every problem. */
export async function readPieceFile(path: string): Promise<PieceFile> {
  try {
    return decodePieceFile(await readFile(path));
  } catch (error) {
    if (error instanceof PieceError)
      throw new CliError(error.problems.map((problem) => `${path}: ${problem}`).join('\n'));
    const missing = (error as NodeJS.ErrnoException).code === 'ENOENT';
    throw new CliError(`${path}: ${missing ? 'there is no such file' : (error as Error).message}`);
  }
}
