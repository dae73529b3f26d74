import type { FromMaskWorker, MaskAnswers, MaskQuestion } from './messages.ts';

export interface MaskClient {
  /** Rejects with the worker's sentence. */
  ask<Question extends MaskQuestion>(question: Question): Promise<MaskAnswers[Question['kind']]>;
  close(): void;
}

interface Waiting {
  readonly resolve: (answer: never) => void;
  readonly reject: (error: Error) => void;
}

/** A worker that lives as long as the dialog. What is still open when it closes is never answered. */
export function createMaskClient(): MaskClient {
  const worker = new Worker(new URL('./mask-worker.ts', import.meta.url), { type: 'module' });
  const waiting = new Map<number, Waiting>();
  let tickets = 0;
  worker.onmessage = ({ data }: MessageEvent<FromMaskWorker>) => {
    const asked = waiting.get(data.ticket);
    waiting.delete(data.ticket);
    if (data.kind === 'answer') asked?.resolve(data.answer as never);
    else asked?.reject(new Error(data.message));
  };
  worker.onerror = (event) => {
    for (const { reject } of waiting.values()) reject(new Error(`The mask’s worker stopped: ${event.message}`));
    waiting.clear();
  };
  return {
    ask: (question) =>
      new Promise((resolve, reject) => {
        waiting.set(++tickets, { resolve, reject });
        worker.postMessage({ ...question, ticket: tickets });
      }),
    close: () => worker.terminate(),
  };
}
