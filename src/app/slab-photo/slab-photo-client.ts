import { Cancelled } from '../../core/cancelled.ts';
import type { FromSlabWorker, SlabAnswers, SlabQuestion } from './messages.ts';

interface Waiting {
  readonly resolve: (answer: never) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress: (words: string) => void;
}

let worker: Worker | null = null;
let tickets = 0;
const waiting = new Map<number, Waiting>();

/** Asks the dialog's worker, starting it if need be. Rejects with its sentence, or with `Cancelled`. */
export function askSlabWorker<Question extends SlabQuestion>(
  question: Question,
  onProgress: (words: string) => void = () => {},
): Promise<SlabAnswers[Question['kind']]> {
  worker ??= start();
  const port = worker;
  const ticket = ++tickets;
  return new Promise((resolve, reject) => {
    waiting.set(ticket, { resolve, reject, onProgress });
    port.postMessage({ ...question, ticket });
  });
}

/** Stops whatever the worker does; the next question starts another one. */
export function stopSlabWorker(): void {
  worker?.terminate();
  worker = null;
  giveUp(new Cancelled());
}

function start(): Worker {
  const started = new Worker(new URL('./slab-photo-worker.ts', import.meta.url), { type: 'module' });
  started.onmessage = ({ data }: MessageEvent<FromSlabWorker>) => {
    const asked = waiting.get(data.ticket);
    if (data.kind === 'progress') {
      asked?.onProgress(data.words);
      return;
    }
    waiting.delete(data.ticket);
    if (data.kind === 'answer') asked?.resolve(data.answer as never);
    else asked?.reject(new Error(data.message));
  };
  started.onerror = (event) => {
    if (worker === started) worker = null;
    started.terminate();
    giveUp(new Error(`The photograph could not be worked on: ${event.message || 'its worker stopped'}. Try again.`));
  };
  return started;
}

function giveUp(error: Error): void {
  for (const { reject } of waiting.values()) reject(error);
  waiting.clear();
}
