import { parentPort } from 'node:worker_threads';
import { createGpuJsBackend } from '../kernels/gpu-js.ts';
import { createStripServer, type ToWorker } from '../sim/pool.ts';

const port = parentPort;
if (!port) throw new Error('this file runs as a worker');
const serve = createStripServer(
  () => createGpuJsBackend('cpu', 'in a worker'),
  (message, transfer) => port.postMessage(message, transfer as ArrayBuffer[]),
);
port.on('message', (message: ToWorker) => void serve(message));
