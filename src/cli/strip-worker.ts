import { parentPort } from 'node:worker_threads';
import { createAnswering } from '../base/remote/answers.ts';
import type { ToRemote } from '../base/remote/wire.ts';
import { createGpuJsBackend } from '../burn/kernel/gpu-js.ts';
import { type StripQuestions, stripAnswerers } from '../burn/pool.ts';

const port = parentPort;
if (!port) throw new Error('this file runs as a worker');
const answer = createAnswering<StripQuestions>(
  stripAnswerers(() => createGpuJsBackend('cpu', 'in a worker')),
  (message, transfer) => port.postMessage(message, transfer as ArrayBuffer[]),
);
port.on('message', (message: ToRemote) => answer(message));
