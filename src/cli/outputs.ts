import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { access, chmod, constants, open, realpath, rename, rmdir, stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { giveUp, makeFolders, pathBeside, take } from './beside.ts';
import { CliError, UsageError } from './faults.ts';

export interface WrittenFile {
  readonly bytes: number;
  /** Of all bytes as they were read back from the disk, in hexadecimal digits. */
  readonly sha256: string;
}

/** A part of a file, and how much of the work is done with it, 0–1. */
export interface FilePart {
  readonly bytes: Uint8Array;
  readonly share: number;
}

export interface WriteOptions {
  readonly onShare?: (share: number) => void;
  /** Looks through the file as it lies on the disk, before it gets its name; what it throws keeps all files of the command back. */
  readonly check?: (path: string) => Promise<void>;
}

/** Where a command puts its files. None of them stands under its name before all are whole. */
export interface Outputs {
  /**
   * To be called before the work begins, and before a file is read that is written anew: the place is this run's alone until the end.
   * @param waitMs how long to wait for another run that writes it
   * @throws UsageError if the command reads that file, CliError if it may not be written.
   */
  claim(path: string, waitMs?: number): Promise<void>;
  /** The same for a folder and all files in it; made if it is not there. */
  claimFolder(path: string): Promise<void>;
  /** @throws CliError that names the file and the reason; Error if the place was not claimed. */
  write(path: string, content: string | Uint8Array | Iterable<FilePart>, options?: WriteOptions): Promise<WrittenFile>;
}

interface Staged {
  /** As the maker wrote it, for messages. */
  readonly path: string;
  readonly target: string;
  readonly unfinished: string;
}

/**
 * The files of one run of the command line: each is written under a name of ours beside its own, brought to the disk, read back, and
 * gets its name when the command has come to its end (`commit`). Whatever happens before leaves all that stood there as it was.
 * @param inputs paths of what the command reads; nothing is written over them
 */
export function createOutputs(
  inputs: readonly string[],
): Outputs & { commit(): Promise<void>; close(): Promise<void> } {
  const claimed = new Set<string>();
  const folders = new Set<string>();
  const releases: (() => Promise<void>)[] = [];
  const made: string[] = [];
  const staged: Staged[] = [];

  async function targetOf(path: string): Promise<string> {
    const target = await realpath(path).catch(() => resolve(path));
    for (const input of inputs) {
      if (await isSameFile(input, target))
        throw new UsageError(`${path} is read by this command and would be written over: give another name`);
    }
    return target;
  }

  async function hold(folder: string, target: string, path: string, waitMs: number): Promise<void> {
    const release = await take(folder, target, waitMs).catch((error: unknown) => {
      throw refused(path, error);
    });
    if (!release) throw new CliError(`${path} is being written by another foreburn: wait until it is done`);
    releases.push(release);
  }

  return {
    async claim(path, waitMs = 0) {
      const target = await targetOf(path);
      if (claimed.has(target)) return;
      await mayStandAt(path, target);
      await hold(dirname(target), target, path, waitMs);
      claimed.add(target);
    },

    async claimFolder(path) {
      const found = await makeFolders(resolve(path)).catch((error: unknown) => {
        throw refused(path, error);
      });
      made.push(...found);
      const target = await realpath(path);
      if (folders.has(target)) return;
      await hold(target, 'this-folder', path, 0);
      folders.add(target);
    },

    async write(path, content, { onShare = () => {}, check } = {}) {
      const target = await targetOf(path);
      if (!claimed.has(target) && !folders.has(dirname(target))) throw new Error(`${path} was not claimed`);
      const parts =
        typeof content === 'string' || content instanceof Uint8Array
          ? [{ bytes: typeof content === 'string' ? Buffer.from(content) : content, share: 1 }]
          : content;
      const old = await mayStandAt(path, target);
      const unfinished = pathBeside(dirname(target), target, 'unfinished');
      staged.push({ path, target, unfinished });
      try {
        const file = await open(unfinished, 'wx');
        try {
          for (const part of parts) {
            await file.writeFile(part.bytes);
            onShare(part.share);
          }
          await file.sync();
        } finally {
          await file.close();
        }
        if (old) await chmod(unfinished, old.mode);
        const written = await readBack(unfinished);
        await check?.(unfinished);
        return written;
      } catch (error) {
        throw refused(path, error);
      }
    },

    async commit() {
      const standing: string[] = [];
      for (const { path, target, unfinished } of staged) {
        try {
          await rename(unfinished, target);
        } catch (error) {
          const others = standing.length > 0 ? ` Already in place: ${standing.join(', ')}.` : '';
          throw new CliError(`${(refused(path, error) as Error).message}${others}`);
        }
        standing.push(path);
      }
      for (const folder of new Set(staged.map(({ target }) => dirname(target)))) await settle(folder);
    },

    async close() {
      for (const { unfinished } of staged) await giveUp(unfinished);
      for (const release of releases) await release();
      // A folder made for files that did not come goes again; one with something in it stays.
      for (const folder of made) await rmdir(folder).catch(() => {});
    },
  };
}

async function isSameFile(one: string, other: string): Promise<boolean> {
  const [a, b] = await Promise.all([one, other].map((path) => stat(path, { bigint: true }).catch(() => null)));
  return a !== null && b !== null && a.dev === b.dev && a.ino === b.ino;
}

/** What stands there now, if anything. @throws CliError if it is no file that may be written. */
async function mayStandAt(path: string, target: string) {
  const old = await stat(target).catch(() => null);
  if (old?.isDirectory()) throw refused(path, Object.assign(new Error(), { code: 'EISDIR' }));
  if (old && !old.isFile()) throw new CliError(`${path} could not be written: it is no ordinary file.`);
  if (old) {
    await access(target, constants.W_OK).catch(() => {
      throw new CliError(`${path} could not be written: it may only be read.`);
    });
  }
  return old;
}

async function readBack(path: string): Promise<WrittenFile> {
  const hash = createHash('sha256');
  let bytes = 0;
  for await (const chunk of createReadStream(path, { highWaterMark: 1 << 20 })) {
    hash.update(chunk);
    bytes += chunk.length;
  }
  return { bytes, sha256: hash.digest('hex') };
}

/** Brings a folder's names to the disk, where the system can. */
async function settle(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null);
  await handle?.sync().catch(() => {});
  await handle?.close();
}

function refused(path: string, error: unknown): unknown {
  const { code, message } = error as NodeJS.ErrnoException;
  if (!code || error instanceof CliError) return error;
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
  EEXIST: 'a file has the name of that folder',
  ENOENT: 'there is no such folder',
  ENOTDIR: 'part of its path is a file',
  ENAMETOOLONG: 'its name is too long',
};
