import { readFile, stat } from 'node:fs/promises';
import { inMiB } from '../base/limits.ts';
import { CliError } from './faults.ts';

const WHY: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such file',
  ENOTDIR: 'there is no such file',
  EACCES: 'you may not read it',
  EPERM: 'you may not read it',
  ELOOP: 'its links run in a circle',
  ENAMETOOLONG: 'its name is too long',
};

/**
 * All of a file, if it is one and no larger than `most` bytes: that is asked before it is read.
 * @throws CliError naming the file and the reason.
 */
export async function readBytes(path: string, most: number): Promise<Buffer> {
  try {
    const found = await stat(path);
    if (found.isDirectory()) throw new CliError(`${path}: this is a folder; name a file in it`);
    if (!found.isFile()) throw new CliError(`${path}: this is no file that can be read as a whole`);
    if (found.size > most) throw new CliError(`${path}: it is larger than ${inMiB(most)}`);
    return await readFile(path);
  } catch (error) {
    if (error instanceof CliError) throw error;
    const { code } = error as NodeJS.ErrnoException;
    throw new CliError(`${path}: ${WHY[code ?? ''] ?? `it cannot be read (${code})`}`);
  }
}
