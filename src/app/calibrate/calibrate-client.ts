import { Cancelled } from '../../core/cancelled.ts';
import type { CalibrateName, CalibrateQuestions, FromCalibrateWorker } from './messages.ts';

/**
 * Asks something that takes long, of a worker of its own: it can be stopped in the middle, and questions do not wait for each other.
 * @throws Error with a sentence; Cancelled if the signal was aborted.
 */
export function askCalibrate<Name extends CalibrateName>(
  name: Name,
  asks: CalibrateQuestions[Name]['asks'],
  signal?: AbortSignal,
): Promise<CalibrateQuestions[Name]['gets']> {
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(new Cancelled());
      return;
    }
    const worker = new Worker(new URL('./calibrate-worker.ts', import.meta.url), { type: 'module' });
    signal?.addEventListener('abort', () => {
      worker.terminate();
      reject(new Cancelled());
    });
    worker.onmessage = ({ data }: MessageEvent<FromCalibrateWorker>) => {
      worker.terminate();
      if (data.kind === 'answer') resolve(data.gets as CalibrateQuestions[Name]['gets']);
      else reject(new Error(data.message));
    };
    worker.onerror = (event) => {
      worker.terminate();
      reject(new Error(`That could not be worked out: ${event.message || 'the worker stopped'}. Try again.`));
    };
    worker.postMessage({ name, asks });
  });
}
