import { Cancelled } from '../../core/cancelled.ts';
import type { FromMockupWorker, MockupQuestion, MockupQuestions, ToMockupWorker } from './messages.ts';

interface Waiting {
  readonly resolve: (gets: never) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress?: (share: number) => void;
}

/** The page's end of the mock-up worker, started when it is first needed. */
let worker: Worker | null = null;
const waiting = new Map<number, Waiting>();
let tickets = 0;

function open(): Worker {
  if (worker) return worker;
  const made = new Worker(new URL('./mockup-worker.ts', import.meta.url), { type: 'module' });
  made.onmessage = ({ data }: MessageEvent<FromMockupWorker>) => {
    const one = waiting.get(data.ticket);
    if (data.kind === 'progress') {
      one?.onProgress?.(data.share);
      return;
    }
    waiting.delete(data.ticket);
    if (data.kind === 'answer') one?.resolve(data.gets as never);
    else one?.reject(data.message === null ? new Cancelled() : new Error(data.message));
  };
  made.onerror = (event) => {
    for (const one of waiting.values()) one.reject(new Error(event.message || 'The mock-up could not be drawn.'));
    waiting.clear();
    worker = null;
  };
  worker = made;
  return made;
}

/**
 * Asks the mock-up worker something.
 * @throws Error with words for people if it cannot be done; Cancelled if the signal was aborted.
 */
export function askMockup<Name extends MockupQuestion>(
  name: Name,
  asks: MockupQuestions[Name]['asks'],
  { onProgress, signal }: { onProgress?: (share: number) => void; signal?: AbortSignal } = {},
): Promise<MockupQuestions[Name]['gets']> {
  const to = open();
  tickets++;
  const ticket = tickets;
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(new Cancelled());
      return;
    }
    waiting.set(ticket, { resolve, reject, onProgress });
    signal?.addEventListener('abort', () => {
      if (!waiting.delete(ticket)) return;
      to.postMessage({ kind: 'leave', ticket } satisfies ToMockupWorker);
      reject(new Cancelled());
    });
    to.postMessage({ kind: 'ask', ticket, name, asks } as ToMockupWorker);
  });
}
