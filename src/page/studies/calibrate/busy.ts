import { Cancelled } from '../../../base/cancelled.ts';
import { sentence } from '../../vision/slab/sentence.ts';
import { setCalibrate } from './calibrate-store.ts';

let running: AbortController | null = null;

/** Does one thing at a time, says what goes wrong as a sentence, and can be stopped. */
export async function trying(words: string, work: (signal: AbortSignal) => Promise<void>): Promise<void> {
  running?.abort();
  const controller = new AbortController();
  running = controller;
  setCalibrate({ busy: words, fault: null, said: null });
  try {
    await work(controller.signal);
  } catch (error) {
    if (!(error instanceof Cancelled)) setCalibrate({ fault: sentence((error as Error).message) });
  }
  if (running !== controller) return;
  running = null;
  setCalibrate({ busy: null });
}

export const stopWork = (): void => running?.abort();
