import { sha256 } from '@noble/hashes/sha2.js';
import type { Asker } from '../../../base/remote/remote.ts';
import { breathe } from '../../../base/stop.ts';
import { machineFileType } from '../../../outputs/program/machine-file.ts';
import { type OpenedFile, openMachineFile } from '../../../outputs/program/machine-files.ts';
import { JobRefused } from '../../../outputs/program/refusals.ts';
import { photoOf } from './engine.ts';
import { createFileSink, removeEmpty, removeFile } from './file-sink.ts';
import type { Answerer, MachineFileAnswer } from './questions.ts';
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

/** Part by part, with a look at the messages now and then. */
async function writeFile(
  { parts, timeS, cautions, promise }: OpenedFile,
  type: string,
  handle: FileSystemFileHandle | null,
  { onProgress, signal }: Asker,
): Promise<MachineFileAnswer> {
  const hash = sha256.create();
  const sink = await createFileSink(handle);
  let bytes = 0;
  let lookedUp = performance.now();
  try {
    for (const part of parts) {
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
    return { blob, bytes, sha256: digits, timeS, cautions };
  } catch (error) {
    await sink.giveUp();
    throw error;
  }
}
