import type { BurnBackend } from '../kernels/contract.ts';
import { createJobShelf, type StripRunner } from './runner.ts';
import { burnStrip } from './strip.ts';
import type { StripJob, StripResult, StripTask } from './strip-task.ts';

/** The little of a worker that the pool needs; a page's Worker and Node's worker_threads are both wrapped into it. */
export interface WorkerPort {
  post(message: ToWorker, transfer: ArrayBufferLike[]): void;
  listen(onMessage: (message: FromWorker) => void, onFailure: (error: Error) => void): void;
  terminate(): void;
}

export type ToWorker =
  | { readonly kind: 'job'; readonly job: StripJob }
  | { readonly kind: 'strip'; readonly task: StripTask; readonly ticket: number };

export type FromWorker =
  | { readonly kind: 'result'; readonly ticket: number; readonly result: StripResult }
  | { readonly kind: 'failed'; readonly ticket: number; readonly message: string };

/** The worker's side: answers each strip. `reply` posts a message with the buffers to hand over. */
export function createStripServer(
  loadBackend: () => Promise<BurnBackend>,
  reply: (message: FromWorker, transfer: ArrayBufferLike[]) => void,
): (message: ToWorker) => Promise<void> {
  let backend: Promise<BurnBackend> | null = null;
  const jobs = createJobShelf();
  return async (message) => {
    if (message.kind === 'job') {
      jobs.put(message.job);
      return;
    }
    try {
      backend ??= loadBackend();
      const ready = await backend;
      const result = await burnStrip(jobs.of(message.task), message.task, ready);
      reply({ kind: 'result', ticket: message.ticket, result }, buffersOf(result));
    } catch (error) {
      const text = error instanceof Error ? error.message : String(error);
      reply({ kind: 'failed', ticket: message.ticket, message: text }, []);
    }
  };
}

function buffersOf(result: StripResult): ArrayBufferLike[] {
  const buffers: ArrayBufferLike[] = [];
  if (result.color) buffers.push(result.color.buffer);
  if (result.relief) buffers.push(result.relief.buffer);
  if (result.fields) {
    for (const data of [...result.fields.residueUm, result.fields.woodDepthUm, result.fields.excess]) {
      buffers.push(data.buffer);
    }
  }
  return buffers;
}

interface Waiting {
  readonly resolve: (result: StripResult) => void;
  readonly reject: (error: Error) => void;
}

/** A pool of workers; a strip's place decides which of them burns it. */
export function createPoolRunner(spawn: () => WorkerPort, size: number, description: string): StripRunner {
  const waiting = new Map<number, Waiting>();
  let ticket = 0;
  const ports = Array.from({ length: size }, () => {
    const port = spawn();
    port.listen(
      (message) => {
        const one = waiting.get(message.ticket);
        waiting.delete(message.ticket);
        if (message.kind === 'result') one?.resolve(message.result);
        else one?.reject(new Error(message.message));
      },
      (error) => {
        for (const one of waiting.values()) one.reject(error);
        waiting.clear();
      },
    );
    return port;
  });
  return {
    lanes: size,
    description,
    start(job) {
      for (const port of ports) port.post({ kind: 'job', job }, []);
    },
    run(task) {
      // The same strip always goes to the same worker, which has its film already.
      const port = ports[Math.floor(task.y0 / task.rows) % size];
      ticket++;
      return new Promise((resolve, reject) => {
        waiting.set(ticket, { resolve, reject });
        const transfer = task.windows.flatMap((window) => [window.levels.buffer, window.mask.buffer]);
        port.post({ kind: 'strip', task, ticket }, [...transfer, task.aim.buffer]);
      });
    },
    dispose() {
      for (const port of ports) port.terminate();
    },
  };
}
