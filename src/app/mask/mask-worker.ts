import { workerScope } from '../worker/scope.ts';
import { backgroundStrokes } from './background-strokes.ts';
import { maskSaving } from './mask-saving.ts';
import type { FromMaskWorker, ToMaskWorker } from './messages.ts';

workerScope.onmessage = ({ data }: MessageEvent<ToMaskWorker>) => {
  const { ticket } = data;
  let reply: FromMaskWorker;
  try {
    const answer = data.kind === 'background' ? backgroundStrokes(data) : maskSaving(data.piece, data.photo);
    reply = { kind: 'answer', ticket, answer };
  } catch (error) {
    reply = { kind: 'failed', ticket, message: error instanceof Error ? error.message : String(error) };
  }
  workerScope.postMessage(reply);
};
