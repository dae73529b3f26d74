import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { createGpuJsBackend } from '../kernels/gpu-js.ts';
import { createPoolRunner, type FromWorker, type WorkerPort } from '../sim/pool.ts';
import { createInlineRunner, type StripRunner } from '../sim/runner.ts';

/** A pool of worker threads where the built worker lies beside this file, else one lane in place (tests run from source). */
export async function createCliRunner(): Promise<StripRunner> {
  // What several programs share is built into a folder of chunks.
  const file = ['./strip-worker.js', '../strip-worker.js']
    .map((name) => new URL(name, import.meta.url))
    .find((one) => existsSync(one));
  const size = Math.min(8, availableParallelism());
  if (!file) return createInlineRunner(await createGpuJsBackend('cpu', 'no worker file beside the program'));
  return createPoolRunner(() => spawnThread(file), size, `${size} worker threads (no GPU from the command line)`);
}

function spawnThread(file: URL): WorkerPort {
  const worker = new Worker(file);
  return {
    post: (message, transfer) => worker.postMessage(message, transfer as ArrayBuffer[]),
    listen(onMessage, onFailure) {
      worker.on('message', (message: FromWorker) => onMessage(message));
      worker.on('error', onFailure);
    },
    terminate: () => void worker.terminate(),
  };
}
