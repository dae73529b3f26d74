import { type Answerers, createAnswering, type QuestionSet } from '../../base/remote/remote.ts';
import type { FromWorker, ToWorker } from './worker-port.ts';

/** The worker's end of `openWorker`: answers questions, holds the lock that says that it lives, and says hello. */
export function serveQuestions<Q extends QuestionSet<Q>>(answerers: Answerers<Q>): void {
  const post = (message: FromWorker, transfer: readonly unknown[] = []) =>
    workerScope.postMessage(message, transfer as Transferable[]);
  const answer = createAnswering(answerers, post);
  workerScope.onmessage = ({ data }: MessageEvent<ToWorker>) => {
    if (data.kind === 'ping') post({ kind: 'pong' });
    else answer(data);
  };
  // The page hears of errors, not of rejections.
  self.addEventListener('unhandledrejection', (event) => {
    setTimeout(() => {
      throw event.reason;
    });
  });
  holdLock((lock) => post({ kind: 'hello', lock }));
}

/** Takes a lock of the worker's own and keeps it; null where the browser gives none: without https, or with storage switched off. */
function holdLock(onHeld: (name: string | null) => void): void {
  if (!navigator.locks) {
    onHeld(null);
    return;
  }
  const name = `foreburn-worker-${crypto.randomUUID()}`;
  const forGood = () => {
    onHeld(name);
    return new Promise(() => {});
  };
  navigator.locks.request(name, forGood).catch(() => onHeld(null));
}

/** The worker's global object; the DOM typings know it only as a window. */
interface WorkerScope {
  onmessage: ((event: MessageEvent) => void) | null;
  postMessage(message: unknown, transfer?: Transferable[]): void;
}

const workerScope = self as unknown as WorkerScope;
