import { createHash, randomBytes } from 'node:crypto';
import { mkdir, readdir, rm, stat, utimes, writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { basename, join } from 'node:path';

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

export async function giveUp(path: string): Promise<void> {
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
export async function makeFolders(path: string): Promise<string[]> {
  const first = await mkdir(path, { recursive: true });
  if (first === undefined) return [];
  const made: string[] = [];
  for (let at = path; at.length >= first.length; at = join(at, '..')) made.push(at);
  return made;
}
