import { createHash, randomBytes } from 'node:crypto';
import { createReadStream } from 'node:fs';
import {
  access,
  chmod,
  constants,
  mkdir,
  open,
  readdir,
  readFile,
  realpath,
  rename,
  rm,
  rmdir,
  stat,
  utimes,
  writeFile,
} from 'node:fs/promises';
import { hostname } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';
import { encodePieceFile } from '../piece/file.ts';
import type { Piece } from '../piece/schema.ts';
import type { OpenedJob } from './open-job.ts';
import { CliError, UsageError } from './options.ts';

interface WrittenFile {
  readonly bytes: number;
  /** Of all bytes as they were read back from the disk, in hexadecimal digits. */
  readonly sha256: string;
}

/** A part of a file, and how much of the work is done with it, 0–1. */
interface FilePart {
  readonly bytes: Uint8Array;
  readonly share: number;
}

interface WriteOptions {
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
  write(
    path: string,
    content: string | Uint8Array | Iterable<FilePart> | AsyncIterable<FilePart>,
    options?: WriteOptions,
  ): Promise<WrittenFile>;
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
          for await (const part of parts) {
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

/** Why a file of ours stands beside one of the maker's: it is not whole yet, or says that a run asks for the place or has it. */
type Kind = 'unfinished' | 'asked' | 'taken';

const digest = (text: string, digits: number): string =>
  createHash('sha256').update(text).digest('hex').slice(0, digits);

const HOST = digest(hostname(), 8);

const NAME = /^\.(.+)\.(unfinished|asked|taken)-([0-9a-f]{8})-(\d+)-[0-9a-f]{12}$/;

/** Longest part of a target's name in a name of ours, bytes: file systems allow 255 in all. */
const MOST_STEM = 120;

/** How often a name that is in use is touched, and after how long without that nobody uses it any more, ms. */
const TOUCH_MS = 60_000;

const FORGOTTEN_MS = 30 * 60_000;

/** Names that this process has made and not yet given up. */
const living = new Set<string>();

const stemOf = (target: string): string => {
  const name = basename(target);
  return Buffer.byteLength(name) <= MOST_STEM ? name : digest(name, 24);
};

/** A new path beside a target that no other run uses; it counts as in use until `giveUp`. */
export function pathBeside(folder: string, target: string, kind: Kind): string {
  const name = `.${stemOf(target)}.${kind}-${HOST}-${process.pid}-${randomBytes(6).toString('hex')}`;
  const path = join(folder, name);
  living.add(path);
  return path;
}

async function giveUp(path: string): Promise<void> {
  await rm(path, { force: true }).catch(() => {});
  living.delete(path);
}

/**
 * What runs that were killed have left in a folder is removed. A process of this machine is asked for by its number; what another
 * machine, or a number that has been given anew, has not touched for half an hour counts as left.
 */
export async function sweep(folder: string): Promise<void> {
  for (const name of await readdir(folder).catch(() => [])) {
    const path = join(folder, name);
    if (NAME.test(name) && !(await inUse(path, name))) await rm(path, { force: true }).catch(() => {});
  }
}

async function inUse(path: string, name: string): Promise<boolean> {
  if (living.has(path)) return true;
  const [, , , host, pid] = NAME.exec(name)!;
  if (host === HOST && (Number(pid) === process.pid || !isRunning(Number(pid)))) return false;
  const touched = await stat(path).catch(() => null);
  return touched !== null && Date.now() - touched.mtimeMs < FORGOTTEN_MS;
}

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** In which two runs that ask at once settle who goes first, ms. */
const SETTLE_MS = 1000;

/**
 * Takes a target for this run alone, until what is returned is called; null if another has had it for `waitMs`.
 *
 * Each run puts up a name of its own and then looks who else has: of any two at least one sees the other. Only who sees nobody goes in;
 * of those that ask, the first by name stays and the others step back. A name carries its process, so that nothing has to be taken
 * away from anybody but the dead.
 * @throws what the file system says if nothing may be written there.
 */
export async function take(folder: string, target: string, waitMs: number): Promise<(() => Promise<void>) | null> {
  const until = Date.now() + waitMs;
  for (;;) {
    const asked = await putUp(folder, target, 'asked');
    try {
      if (await isFirst(folder, target, basename(asked), until + SETTLE_MS)) {
        return holding([asked, await putUp(folder, target, 'taken')]);
      }
    } catch (error) {
      await giveUp(asked);
      throw error;
    }
    await giveUp(asked);
    if (Date.now() >= until) return null;
    await pause(20 + 80 * Math.random());
  }
}

async function putUp(folder: string, target: string, kind: 'asked' | 'taken'): Promise<string> {
  const path = pathBeside(folder, target, kind);
  try {
    await writeFile(path, `${target} is being written by process ${process.pid}.\n`, { flag: 'wx' });
    return path;
  } catch (error) {
    await giveUp(path);
    throw error;
  }
}

/** True once nobody else asks for the target or has it; false if another goes before. */
async function isFirst(folder: string, target: string, mine: string, until: number): Promise<boolean> {
  for (;;) {
    await sweep(folder);
    const others = (await readdir(folder)).flatMap((name) => {
      const [, stem, kind] = NAME.exec(name) ?? [];
      return stem === stemOf(target) && kind !== 'unfinished' && name !== mine ? [{ name, kind }] : [];
    });
    if (others.length === 0) return true;
    if (others.some(({ name, kind }) => kind === 'taken' || name < mine) || Date.now() >= until) return false;
    await pause(10 + 30 * Math.random());
  }
}

function holding(paths: readonly string[]): () => Promise<void> {
  const touch = setInterval(() => {
    for (const path of paths) utimes(path, new Date(), new Date()).catch(() => {});
  }, TOUCH_MS);
  touch.unref();
  return async () => {
    clearInterval(touch);
    for (const path of paths) await giveUp(path);
  };
}

/** Makes a folder with all above it. Returns those that were not there, the outermost last. */
async function makeFolders(path: string): Promise<string[]> {
  const first = await mkdir(path, { recursive: true });
  if (first === undefined) return [];
  const made: string[] = [];
  for (let at = path; at.length >= first.length; at = join(at, '..')) made.push(at);
  return made;
}

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
