import { sha256 } from '@noble/hashes/sha2.js';
import type { Asker } from '../../../base/remote/remote.ts';
import { breathe } from '../../../base/stop.ts';
import type { Photo } from '../../../burn/prepare.ts';
import { joinPrograms } from '../../../outputs/program/joined-program.ts';
import { machineFileType, type ProgramPromise } from '../../../outputs/program/machine-file.ts';
import { type OpenedFile, openMachineFile } from '../../../outputs/program/machine-files.ts';
import type { FilePart } from '../../../outputs/program/pass-program.ts';
import { JobRefused } from '../../../outputs/program/refusals.ts';
import { type PlateSlab, plateFiles, plateWords } from '../../../shop/plate.ts';
import { decodePhoto } from './decode-photo.ts';
import { photoOf } from './engine.ts';
import { createFileSink, removeEmpty, removeFile } from './file-sink.ts';
import { type Answerer, DRAWING, type MachineFileAnswer } from './questions.ts';
import { readBack } from './read-back.ts';

/** How often it is told how far it is, ms. */
const LOOK_UP_MS = 50;
/** Shares of the wait until the first part is written and until the last one is, roughly. */
const PREPARING = 0.35;
const WRITTEN = 0.85;

export const answerMachineFile: Answerer<'machine-file'> = async ({ piece, photoKey, file, handle }, asker) => {
  const { signal, onProgress } = asker;
  onProgress(0, 'preparing the picture');
  try {
    const photo = await photoOf(photoKey);
    const opened = await openMachineFile(file, piece, photo, signal);
    return { gets: await writeFile(opened, machineFileType(file), handle, asker) };
  } catch (error) {
    if (handle) await removeEmpty(handle);
    if (error instanceof JobRefused) return { gets: { refusals: error.refusals } };
    throw error;
  }
};

/**
 * The files of a bed, one after the other. Photographs are decoded when it is their turn, and let go of again: a full bed takes no more
 * memory than a slab.
 */
export const answerPlate: Answerer<'plate'> = async ({ slabs, together }, asker) => {
  let last: { bytes: Blob; photo: Promise<Photo> } | null = null;
  const decode = async (bytes: Blob, key: string): Promise<Photo> => ({
    key,
    ...(await decodePhoto(new Uint8Array(await bytes.arrayBuffer()))),
  });
  const plates = slabs.map(
    ({ name, piece, photo, photoSize }): PlateSlab => ({
      name,
      piece,
      photoSize,
      photo() {
        if (last?.bytes !== photo) last = { bytes: photo, photo: decode(photo, name) };
        return last.photo;
      },
    }),
  );
  const files = plateFiles(plates, together);
  try {
    for (const [i, { name, programs }] of files.entries()) {
      const opened: OpenedFile[] = [];
      const joined = joinPrograms(programs, (one) => opened.push(one));
      const part: Asker = {
        ...asker,
        onProgress: (share) => asker.onProgress((i + share) / files.length, name),
      };
      const { blob } = await writeParts(joined, 'text/plain', null, part, () =>
        opened.flatMap(({ promise }) => promise ?? []),
      );
      if (blob) asker.onPart({ name, blob });
    }
    return { gets: { words: plateWords(plates, files, DRAWING) } };
  } catch (error) {
    if (error instanceof JobRefused) return { gets: { refusals: error.refusals } };
    throw error;
  }
};

/** Part by part, with a look at the messages now and then. */
async function writeFile(
  { parts, timeS, cautions, promise }: OpenedFile,
  type: string,
  handle: FileSystemFileHandle | null,
  asker: Asker,
): Promise<MachineFileAnswer> {
  return { ...(await writeParts(parts, type, handle, asker, () => promise)), timeS, cautions };
}

interface Written {
  /** Null where it went to the handle. */
  readonly blob: Blob | null;
  readonly bytes: number;
  readonly sha256: string;
}

/** @param promised what a program must hold, asked once it is written */
async function writeParts(
  parts: Iterable<FilePart> | AsyncIterable<FilePart>,
  type: string,
  handle: FileSystemFileHandle | null,
  { onProgress, signal }: Asker,
  promised: () => ProgramPromise | readonly ProgramPromise[] | null,
): Promise<Written> {
  const hash = sha256.create();
  const sink = await createFileSink(handle);
  let bytes = 0;
  let lookedUp = performance.now();
  try {
    for await (const part of parts) {
      hash.update(part.bytes);
      bytes += part.bytes.length;
      await sink.write(part.bytes);
      await breathe(signal);
      if (performance.now() - lookedUp < LOOK_UP_MS) continue;
      onProgress(PREPARING + (WRITTEN - PREPARING) * part.share, 'writing');
      lookedUp = performance.now();
    }
    const blob = await sink.finish(type);
    const written = blob ?? (await handle?.getFile());
    const promise = promised();
    if (promise && written) {
      await readBack(written, promise, async (share) => {
        onProgress(WRITTEN + (1 - WRITTEN) * share, 'reading back');
        await breathe(signal);
      }).catch(async (error: unknown) => {
        if (handle) await removeFile(handle);
        throw error;
      });
    }
    const digits = Array.from(hash.digest(), (byte) => byte.toString(16).padStart(2, '0')).join('');
    return { blob, bytes, sha256: digits };
  } catch (error) {
    await sink.giveUp();
    throw error;
  }
}
