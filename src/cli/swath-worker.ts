import { parentPort } from 'node:worker_threads';
import { createAnswering, type ToRemote } from '../base/remote/remote.ts';
import { type SwathQuestions, swathAnswerers } from '../burn/runner.ts';

const port = parentPort;
if (!port) throw new Error('this file runs as a worker');
const answer = createAnswering<SwathQuestions>(swathAnswerers(), (message, transfer) =>
  port.postMessage(message, transfer as ArrayBuffer[]),
);
port.on('message', (message: ToRemote) => answer(message));
