import { readFile } from 'node:fs/promises';
import { CliError } from './io.ts';

/** @throws CliError naming the file. */
export const readText = (path: string): Promise<string> =>
  readFile(path, 'utf8').catch((error: NodeJS.ErrnoException) => {
    throw new CliError(`${path}: ${error.code === 'ENOENT' ? 'there is no such file' : error.message}`);
  });

/** Runs what may refuse a file's content, and puts the file's name before the reason. @throws CliError. */
export function naming<Result>(path: string, run: () => Result): Result {
  try {
    return run();
  } catch (error) {
    if (error instanceof CliError) throw error;
    throw new CliError(`${path}: ${(error as Error).message}`);
  }
}
