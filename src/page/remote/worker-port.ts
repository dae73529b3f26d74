import type { FromRemote, OpenPort, ToRemote } from '../../base/remote/remote.ts';

/** How long a worker may take to load before it counts as not coming, ms. */
const HELLO_MS = 30_000;

/** Without locks: time between pings, ms, and how many in a row a worker may leave unanswered while it computes. */
const PING_MS = 10_000;

const PATIENCE_PINGS = 18;

/**
 * The line to a worker, which is started with it. A worker that does not load is started once more before the line counts as lost:
 * nothing has been handed to it yet. One that ends without a word (closed, out of memory) is noticed by the lock it holds for as long
 * as it lives: the page gets it then and only then.
 * @param does what the worker does, to complete "The part of Foreburn that …".
 */
export const openWorker =
  (spawn: () => Worker, does: string): OpenPort =>
  ({ onMessage, onLost }) => {
    const part = `The part of Foreburn that ${does}`;
    /** What waits until the worker has said hello. */
    let queue: { message: ToRemote; transfer: readonly unknown[] }[] | null = [];
    let tries = 0;
    let letGo: () => void = () => {};

    function start(): void {
      tries++;
      const lives = new AbortController();
      let worker: Worker | null = null;
      letGo = () => {
        lives.abort();
        clearTimeout(late);
        worker?.terminate();
      };
      const lose = (words: string): void => {
        if (lives.signal.aborted) return;
        letGo();
        if (queue && tries < 2) start();
        else onLost(words);
      };
      const notLoaded = `${part} could not be loaded. Check the connection, then try again or reload the page.`;
      const ended = `${part} was ended by the browser, perhaps for want of memory. Close other pages and try again.`;
      const late = setTimeout(() => lose(notLoaded), HELLO_MS);
      try {
        worker = spawn();
      } catch {
        setTimeout(() => lose(notLoaded));
        return;
      }
      const send = (message: ToWorker, transfer: readonly unknown[] = []) =>
        worker?.postMessage(message, transfer as Transferable[]);
      let pinged = 0;
      worker.onmessage = ({ data }: MessageEvent<FromWorker>) => {
        pinged = 0;
        if (data.kind === 'pong') return;
        if (data.kind !== 'hello') {
          onMessage(data);
          return;
        }
        clearTimeout(late);
        const waited = queue ?? [];
        queue = null;
        post = send;
        if (data.lock === null || !navigator.locks) {
          const pings = setInterval(() => {
            pinged++;
            if (pinged > PATIENCE_PINGS) lose(ended);
            else send({ kind: 'ping' });
          }, PING_MS);
          lives.signal.addEventListener('abort', () => clearInterval(pings));
        } else {
          // Granted when the worker is gone; rejected when the line is closed first.
          navigator.locks.request(data.lock, { signal: lives.signal }, () => lose(ended)).catch(() => {});
        }
        for (const { message, transfer } of waited) send(message, transfer);
      };
      worker.onerror = (event) => {
        event.preventDefault();
        // What it would do from here on nobody knows: it is ended.
        lose(queue ? notLoaded : `${part} failed${event.message ? `: ${event.message}` : ''}. Try again.`);
      };
      worker.onmessageerror = () => lose(ended);
    }

    let post = (message: ToRemote, transfer: readonly unknown[]): void => {
      queue?.push({ message, transfer });
    };
    start();
    return { post: (message, transfer) => post(message, transfer), close: () => letGo() };
  };

/** What passes between a page and its worker: questions and answers, and whether the worker lives. */
export type ToWorker = ToRemote | { readonly kind: 'ping' };

export type FromWorker =
  | FromRemote
  /** Its program is there. It holds the lock of that name until it ends; null where there are no locks. */
  | { readonly kind: 'hello'; readonly lock: string | null }
  | { readonly kind: 'pong' };
