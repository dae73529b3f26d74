import { Cancelled } from '../stop.ts';

/** The other side is gone or never came; the message says what the maker can do. */
export class RemoteLost extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'RemoteLost';
  }
}

/** A line to the other side. */
interface Port {
  post(message: ToRemote, transfer: readonly unknown[]): void;
  /** Ends the other side too. */
  close(): void;
}

// Own code: bridges of libraries know no progress, no stopping and no end of the other side, which all of this is about.

/** Opens a line. The hooks are called later only, never while it opens; `onLost` once, with words for the maker. */
export type OpenPort = (hooks: {
  readonly onMessage: (message: FromRemote) => void;
  readonly onLost: (words: string) => void;
}) => Port;

/** As much of an AbortSignal as is needed. */
interface StopSignal {
  readonly aborted: boolean;
  addEventListener(type: 'abort', listener: () => void): void;
  removeEventListener(type: 'abort', listener: () => void): void;
}

export interface AskOptions<Part = never> {
  readonly onProgress?: (share: number, stage: string) => void;
  /** What is known of the answer so far. */
  readonly onPart?: (part: Part) => void;
  /** The answer is not wanted any more once it is aborted. */
  readonly signal?: StopSignal;
  /** Buffers that are handed over, not copied. */
  readonly transfer?: readonly unknown[];
}

export interface Remote<Q extends QuestionSet<Q>> {
  /**
   * Every question ends: with its answer, with an error for people, or with Cancelled.
   * @throws Error if it cannot be answered; RemoteLost if the other side is gone, after which the next question opens another line;
   * Cancelled if it was stopped here or there.
   */
  ask<Name extends keyof Q>(
    name: Name,
    asks: Q[Name]['asks'],
    options?: AskOptions<PartOf<Q, Name>>,
  ): Promise<Q[Name]['gets']>;
  /** Stops all that is under way by ending the other side; the next question opens another line. */
  stop(): void;
  /** The same for good: questions after it are Cancelled. */
  close(): void;
}

interface Waiting {
  readonly resolve: (gets: never) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress?: (share: number, stage: string) => void;
  readonly onPart?: (part: never) => void;
}

/**
 * Asks over a line that is opened with the first question. `onLost` is told of a loss before the questions under way are rejected for
 * it; what it asks goes over the next line.
 */
export function createRemote<Q extends QuestionSet<Q>>(
  open: OpenPort,
  onLost: (error: RemoteLost) => void = () => {},
): Remote<Q> {
  const waiting = new Map<number, Waiting>();
  let port: Port | null = null;
  let tickets = 0;
  let closed = false;

  function openPort(): Port {
    const made = open({
      onMessage: (message) => port === made && receive(message),
      onLost(words) {
        if (port !== made) return;
        const error = new RemoteLost(words);
        end(error, () => onLost(error));
      },
    });
    return made;
  }

  function end(error: Error, tell: () => void = () => {}): void {
    const ended = port;
    port = null;
    const left = [...waiting.values()];
    waiting.clear();
    ended?.close();
    tell();
    for (const one of left) one.reject(error);
  }

  function receive(message: FromRemote): void {
    const one = waiting.get(message.ticket);
    if (!one) return;
    if (message.kind === 'progress') {
      one.onProgress?.(message.share, message.stage);
      return;
    }
    if (message.kind === 'part') {
      one.onPart?.(message.part as never);
      return;
    }
    waiting.delete(message.ticket);
    if (message.kind === 'answer') one.resolve(message.gets as never);
    else one.reject(message.kind === 'stopped' ? new Cancelled() : new Error(message.message));
  }

  return {
    ask: (name, asks, { onProgress, onPart, signal, transfer = [] } = {}) =>
      new Promise((resolve, reject) => {
        if (closed || signal?.aborted) {
          reject(new Cancelled());
          return;
        }
        tickets++;
        const ticket = tickets;
        const onAbort = () => {
          if (!waiting.delete(ticket)) return;
          port?.post({ kind: 'stop', ticket }, []);
          reject(new Cancelled());
        };
        const heard =
          <Value>(settle: (value: Value) => void) =>
          (value: Value) => {
            signal?.removeEventListener('abort', onAbort);
            settle(value);
          };
        waiting.set(ticket, { resolve: heard(resolve), reject: heard(reject), onProgress, onPart });
        signal?.addEventListener('abort', onAbort);
        try {
          port ??= openPort();
          port.post({ kind: 'ask', ticket, name, asks }, transfer);
        } catch (error) {
          // What cannot be sent concerns this question only.
          waiting.delete(ticket);
          heard(reject)(error as Error);
        }
      }),
    stop: () => end(new Cancelled()),
    close() {
      closed = true;
      end(new Cancelled());
    },
  };
}

/** One question to a side of its own, which ends with the answer, or in its middle when it is stopped. */
export async function askOnce<Q extends QuestionSet<Q>, Name extends keyof Q>(
  open: OpenPort,
  name: Name,
  asks: Q[Name]['asks'],
  options?: AskOptions<PartOf<Q, Name>>,
): Promise<Q[Name]['gets']> {
  const remote = createRemote<Q>(open);
  try {
    return await remote.ask(name, asks, options);
  } finally {
    remote.close();
  }
}

/** Who asks, as the one that answers sees it. */
export interface Asker<Part = never> {
  /** Aborted, with `Cancelled` for its reason, once nobody waits for the answer any more. */
  readonly signal: AbortSignal;
  /** Share done, 0–1, with what is being done. */
  readonly onProgress: (share: number, stage: string) => void;
  /** What is known of the answer so far, with the buffers to hand over. */
  readonly onPart: (part: Part, transfer?: readonly unknown[]) => void;
}

interface Answer<Gets> {
  readonly gets: Gets;
  /** Buffers that are handed over, not copied. */
  readonly transfer?: readonly unknown[];
}

/** Answers one question. Throws for people to read, or Cancelled where it gives up. */
export type Answerer<Q extends QuestionSet<Q>, Name extends keyof Q> = (
  asks: Q[Name]['asks'],
  asker: Asker<PartOf<Q, Name>>,
) => Answer<Q[Name]['gets']> | Promise<Answer<Q[Name]['gets']>>;

export type Answerers<Q extends QuestionSet<Q>> = { readonly [Name in keyof Q]: Answerer<Q, Name> };

/** The side that answers. Every question gets exactly one `answer`, `stopped` or `failed`; several may be under way at once. */
export function createAnswering<Q extends QuestionSet<Q>>(
  answerers: Answerers<Q>,
  post: (message: FromRemote, transfer: readonly unknown[]) => void,
): (message: ToRemote) => void {
  /** What stops each question under way. */
  const stops = new Map<number, AbortController>();

  const end = (message: FromRemote, transfer: readonly unknown[] = []): void => {
    stops.delete(message.ticket);
    post(message, transfer);
  };

  async function answer({ ticket, name, asks }: Extract<ToRemote, { kind: 'ask' }>): Promise<void> {
    const stop = new AbortController();
    stops.set(ticket, stop);
    const asker: Asker<PartOf<Q, keyof Q>> = {
      signal: stop.signal,
      onProgress: (share, stage) => post({ kind: 'progress', ticket, share, stage }, []),
      onPart: (part, transfer = []) => post({ kind: 'part', ticket, part }, transfer),
    };
    const { gets, transfer } = await answerers[name as keyof Q](asks, asker);
    end({ kind: 'answer', ticket, gets }, transfer);
  }

  return (message) => {
    const { ticket } = message;
    if (message.kind === 'stop') {
      stops.get(ticket)?.abort(new Cancelled());
      return;
    }
    answer(message).catch((error: unknown) => {
      if (error instanceof Cancelled) end({ kind: 'stopped', ticket });
      else end({ kind: 'failed', ticket, message: error instanceof Error ? error.message : String(error) });
    });
  };
}

/** What one side may ask of the other; the page's workers and the command line's threads all speak so. */
interface Question {
  readonly asks: unknown;
  readonly gets: unknown;
  /** What is known of the answer on the way; most questions have none. */
  readonly parts?: unknown;
}

/** A set of questions: an interface whose every entry is one. */
export type QuestionSet<Q> = { readonly [Name in keyof Q]: Question };

/** What a question gives away before it is answered. */
export type PartOf<Q extends QuestionSet<Q>, Name extends keyof Q> = Q[Name] extends { readonly parts: infer Part }
  ? Part
  : never;

export type ToRemote =
  | { readonly kind: 'ask'; readonly ticket: number; readonly name: PropertyKey; readonly asks: unknown }
  /** Nobody waits for that answer any more. */
  | { readonly kind: 'stop'; readonly ticket: number };

export type FromRemote =
  | { readonly kind: 'answer'; readonly ticket: number; readonly gets: unknown }
  | { readonly kind: 'part'; readonly ticket: number; readonly part: unknown }
  | { readonly kind: 'progress'; readonly ticket: number; readonly share: number; readonly stage: string }
  /** It gave itself up. */
  | { readonly kind: 'stopped'; readonly ticket: number }
  | { readonly kind: 'failed'; readonly ticket: number; readonly message: string };
