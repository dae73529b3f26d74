import { createHash } from 'node:crypto';
import { open, rename, rm, stat } from 'node:fs/promises';
import { CliError } from './io.ts';

export interface WrittenFile {
  readonly bytes: number;
  /** Of all bytes, in hexadecimal digits. */
  readonly sha256: string;
}

/**
 * Writes a file part by part under a name of its own beside the final one, and gives it the final one once it is whole: a file that
 * was there before stays until then, and no half one ever stands under that name.
 * @throws CliError that names the file and the reason.
 */
export async function writeParts(
  path: string,
  parts: Iterable<{ readonly bytes: Uint8Array; readonly share: number }>,
  onShare: (share: number) => void = () => {},
): Promise<WrittenFile> {
  const unfinished = `${path}.unfinished`;
  try {
    const file = await open(unfinished, 'w');
    const hash = createHash('sha256');
    let bytes = 0;
    try {
      for (const part of parts) {
        await file.writeFile(part.bytes);
        hash.update(part.bytes);
        bytes += part.bytes.length;
        onShare(part.share);
      }
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(unfinished, path);
    return { bytes, sha256: hash.digest('hex') };
  } catch (error) {
    await rm(unfinished, { force: true }).catch(() => {});
    throw refused(path, error);
  }
}

/**
 * Finds out before long work whether a file will be allowed to stand there, by opening the one that is renamed to it in the end.
 * @throws CliError that names the file and the reason.
 */
export async function checkWritable(path: string): Promise<void> {
  const unfinished = `${path}.unfinished`;
  try {
    await (await open(unfinished, 'w')).close();
    await rm(unfinished, { force: true });
    if ((await stat(path).catch(() => null))?.isDirectory()) throw Object.assign(new Error(), { code: 'EISDIR' });
  } catch (error) {
    throw refused(path, error);
  }
}

function refused(path: string, error: unknown): unknown {
  const { code, message } = error as NodeJS.ErrnoException;
  if (!code) return error;
  return new CliError(
    `${path} could not be written: ${REASONS[code] ?? message}. What stood there before is unchanged.`,
  );
}

const REASONS: Readonly<Record<string, string>> = {
  ENOSPC: 'the disk is full',
  EDQUOT: 'there is no room left for you on this disk',
  EACCES: 'the folder may not be written to',
  EPERM: 'the folder may not be written to',
  EROFS: 'the disk may only be read',
  EISDIR: 'a folder has that name',
  ENOENT: 'there is no such folder',
  ENOTDIR: 'part of its path is a file',
};
