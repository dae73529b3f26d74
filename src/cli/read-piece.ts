import { LIMITS } from '../base/limits.ts';
import { decodePieceFile, type PieceFile } from '../piece/file.ts';
import { PieceError } from '../piece/parse.ts';
import { CliError } from './faults.ts';
import { readBytes } from './read-bytes.ts';

/** A piece and its images from a `.foreburn` file or its JSON. @throws CliError naming the file and every problem. */
export async function readPieceFile(path: string): Promise<PieceFile> {
  try {
    return decodePieceFile(await readBytes(path, LIMITS.pieceBytes));
  } catch (error) {
    if (!(error instanceof PieceError)) throw error;
    throw new CliError(error.problems.map((problem) => `${path}: ${problem}`).join('\n'));
  }
}
