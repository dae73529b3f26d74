import { createReadStream } from 'node:fs';
import type { ProgramPromise } from '../outputs/program/promise.ts';
import { ProgramFault } from '../outputs/program/verify/program-fault.ts';
import { ProgramVerifier } from '../outputs/program/verify/program-verifier.ts';
import { CliError } from './faults.ts';

/**
 * Reads a program from the disk, where it has not got its name yet, and holds it against what was promised.
 * @throws CliError that names the file and the line.
 */
export async function readBack(path: string, name: string, promise: ProgramPromise): Promise<void> {
  const verifier = new ProgramVerifier(promise);
  try {
    for await (const bytes of createReadStream(path)) verifier.push(bytes);
    verifier.finish();
  } catch (error) {
    if (!(error instanceof ProgramFault))
      throw new CliError(`${name} cannot be read back: ${(error as Error).message}`);
    throw new CliError(
      `${name} was read back from the disk and is not the program it must be (${error.message}). It was not kept; write it again, and check the disk if this comes again.`,
    );
  }
}
