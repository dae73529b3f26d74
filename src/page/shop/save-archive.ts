import { breathe } from '../../base/stop.ts';
import { createArchive } from '../../piece/archive.ts';
import { createFileSink, removeEmpty } from '../burn/worker/file-sink.ts';
import { askWhere, saveFile } from '../files/save-file.ts';
import type { Task, TaskHow } from '../remote/task.ts';

/** Packed in one go, so many bytes keep nobody waiting. */
const PART_BYTES = 1 << 17;

function* partsOf(blob: Blob): Generator<Blob> {
  for (let at = 0; at < blob.size; at += PART_BYTES) yield blob.slice(at, at + PART_BYTES);
}

/** Puts a file into the archive. `packed`: made smaller. */
type Add = (name: string, bytes: Blob | Uint8Array, how?: 'packed' | 'as it is') => Promise<void>;

/**
 * Saves many files as one archive, to where the maker says if the browser can ask: no more than a file is in memory at a time.
 * @param fill adds them one after the other
 */
export async function saveArchive(
  name: string,
  task: Task,
  words: string,
  fill: (how: TaskHow, add: Add) => Promise<void>,
): Promise<void> {
  const handle = await askWhere(name);
  if (handle === null) return;
  const done = await task.run(words, async (how) => ({ blob: await write(handle ?? null, how, fill) }));
  if (done?.blob) saveFile(name, done.blob, 'application/zip');
  // Asking where to save left an empty file behind.
  if (!done && handle) await removeEmpty(handle);
}

async function write(
  handle: FileSystemFileHandle | null,
  how: TaskHow,
  fill: (how: TaskHow, add: Add) => Promise<void>,
): Promise<Blob | null> {
  const sink = await createFileSink(handle);
  const waiting: Uint8Array[] = [];
  const archive = createArchive((bytes) => waiting.push(bytes));
  const hand = async () => {
    for (const bytes of waiting.splice(0)) await sink.write(bytes as Uint8Array<ArrayBuffer>);
  };
  try {
    await fill(how, async (name, bytes, packing = 'packed') => {
      const file = archive.begin(name, packing);
      const blob = bytes instanceof Blob ? bytes : new Blob([bytes as BlobPart]);
      for (const part of partsOf(blob)) {
        await breathe(how.signal);
        file.write(new Uint8Array(await part.arrayBuffer()));
        await hand();
      }
      file.end();
      await hand();
    });
    archive.end();
    await hand();
    return await sink.finish('application/zip');
  } catch (error) {
    await sink.giveUp();
    throw error;
  }
}

/** A name that none of the files has yet: “quay”, “quay-2”. */
export function freeName(wanted: string, taken: Set<string>): string {
  let name = wanted;
  for (let number = 2; taken.has(name); number++) name = `${wanted}-${number}`;
  taken.add(name);
  return name;
}
