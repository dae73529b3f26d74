import { Cancelled } from '../../../base/cancelled.ts';
import { askOnce } from '../../../base/remote/remote.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { sentence } from '../../vision/slab/sentence.ts';
import type { CalibrateName, CalibrateQuestions } from './messages.ts';

const calibrateWorker = openWorker(
  () => new Worker(new URL('./calibrate-worker.ts', import.meta.url), { type: 'module' }),
  'works on calibrations',
);

/**
 * Asks something that takes long, of a worker of its own: it can be stopped in the middle, and questions do not wait for each other.
 * @throws Error with a sentence; Cancelled if the signal was aborted.
 */
export async function askCalibrate<Name extends CalibrateName>(
  name: Name,
  asks: CalibrateQuestions[Name]['asks'],
  signal?: AbortSignal,
): Promise<CalibrateQuestions[Name]['gets']> {
  try {
    return await askOnce<CalibrateQuestions, Name>(calibrateWorker, name, asks, { signal });
  } catch (error) {
    if (error instanceof Cancelled) throw error;
    throw new Error(sentence((error as Error).message));
  }
}
