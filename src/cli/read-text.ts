import { LIMITS } from '../base/limits.ts';
import { CliError } from './faults.ts';
import { readBytes } from './read-bytes.ts';

/** @throws CliError naming the file. */
export const readText = async (path: string): Promise<string> =>
  (await readBytes(path, LIMITS.documentBytes)).toString('utf8');

/** Runs what may refuse a file's content, and puts the file's name before the reason. @throws CliError. */
export function naming<Result>(path: string, run: () => Result): Result {
  try {
    return run();
  } catch (error) {
    if (error instanceof CliError) throw error;
    throw new CliError(`${path}: ${(error as Error).message}`);
  }
}
