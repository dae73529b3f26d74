import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { OpenPort } from '../base/remote/remote.ts';
import { createInlineRunner, createPoolRunner, type SwathRunner } from '../burn/runner.ts';

/** A pool of worker threads where the built worker lies beside this file, else one lane in place (tests run from source). */
export function createCliRunner(): SwathRunner {
  // What several programs share is built into a folder of chunks.
  const file = ['./swath-worker.js', '../swath-worker.js']
    .map((name) => new URL(name, import.meta.url))
    .find((one) => existsSync(one));
  const size = Math.min(8, availableParallelism());
  if (!file) return createInlineRunner();
  return createPoolRunner(openThread(file), size, `${size} worker threads (no GPU from the command line)`);
}

/** A thread that ends without being told to is noticed by its exit. */
export const openThread =
  (file: URL): OpenPort =>
  ({ onMessage, onLost }) => {
    const worker = new Worker(file);
    worker.on('message', onMessage);
    worker.on('messageerror', () => onLost('A worker thread sent something that cannot be read. Try again.'));
    worker.on('error', (error) => onLost(`A worker thread failed: ${error.message}`));
    worker.on('exit', () => onLost('A worker thread ended before its work was done. Try again with more memory free.'));
    return {
      post: (message, transfer) => worker.postMessage(message, transfer as ArrayBuffer[]),
      close() {
        worker.terminate().catch(() => {});
      },
    };
  };
