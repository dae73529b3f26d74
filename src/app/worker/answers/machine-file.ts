import { sha256 } from '@noble/hashes/sha2.js';
import { Cancelled } from '../../../core/cancelled.ts';
import { JobRefused } from '../../../core/export/gcode/mend.ts';
import { machineFileType } from '../../../core/export/machine-file.ts';
import { openMachineFile } from '../../../sim/machine-files.ts';
import { pause, photoOf } from '../desk.ts';
import type { Answerer } from './answer.ts';

/** How long the worker goes on before it looks whether anybody still waits, ms. */
const LOOK_UP_MS = 50;
/** Bytes handed to the browser at once. */
const WRITTEN_AT_ONCE = 1 << 20;
/** Share of the wait until the first part is written, roughly. */
const PREPARING = 0.4;

/** Parts go to the handle's swap file, which takes the file's name once it is closed, or into a blob, which the browser keeps off the heap. */
export const answerMachineFile: Answerer<'machine-file'> = async ({ piece, photoKey, file, handle }, asker) => {
  const { shouldStop, onProgress } = asker;
  onProgress(0, 'preparing the picture');
  const photo = await photoOf(photoKey);
  let opened: Awaited<ReturnType<typeof openMachineFile>>;
  try {
    opened = await openMachineFile(file, piece, photo, { shouldStop, breathe: () => pause(0) });
  } catch (error) {
    if (error instanceof JobRefused) return { gets: { refusals: error.refusals } };
    throw error;
  }
  const hash = sha256.create();
  const stream = handle && (await handle.createWritable().catch((error: Error) => Promise.reject(writeFault(error))));
  const blobs: Blob[] = [];
  let waiting: Uint8Array<ArrayBuffer>[] = [];
  let waitingBytes = 0;
  const write = async () => {
    const blob = new Blob(waiting);
    waiting = [];
    waitingBytes = 0;
    if (stream) await stream.write(blob);
    else blobs.push(blob);
  };
  let bytes = 0;
  let lookedUp = performance.now();
  try {
    for (const part of opened.parts) {
      hash.update(part.bytes);
      bytes += part.bytes.length;
      waiting.push(part.bytes);
      waitingBytes += part.bytes.length;
      if (waitingBytes >= WRITTEN_AT_ONCE) await write();
      if (performance.now() - lookedUp < LOOK_UP_MS) continue;
      onProgress(PREPARING + (1 - PREPARING) * part.share, 'writing');
      await pause(0);
      lookedUp = performance.now();
    }
    await write();
    if (stream) await stream.close();
  } catch (error) {
    await stream?.abort().catch(() => {});
    throw stream ? writeFault(error as Error) : error;
  }
  const digits = Array.from(hash.digest(), (byte) => byte.toString(16).padStart(2, '0')).join('');
  return {
    gets: {
      blob: stream ? null : new Blob(blobs, { type: machineFileType(file) }),
      bytes,
      sha256: digits,
      timeS: opened.timeS,
      cautions: opened.cautions,
    },
  };
};

const REASONS: Readonly<Record<string, string>> = {
  QuotaExceededError: 'the disk is full',
  NotAllowedError: 'the browser may not write there; choose another folder',
  NoModificationAllowedError: 'another program has that file open; close it there or choose another name',
  NotFoundError: 'the folder is not there any more; choose another one',
};

/** What went wrong while a file was written, for people; what is no fault of the disk stays as it is. */
const writeFault = (error: Error): Error =>
  error instanceof Cancelled
    ? error
    : new Error(
        `The file could not be written: ${REASONS[error.name] ?? error.message}. What stood there before is unchanged.`,
      );
