import { Cancelled } from '../cancelled.ts';
import type { FromRemote, PartOf, QuestionSet, ToRemote } from './wire.ts';

/** Who asks, as the one that answers sees it. */
export interface Asker<Part = never> {
  /** True once nobody waits for the answer any more. */
  readonly shouldStop: () => boolean;
  /** Share done, 0–1, with what is being done. */
  readonly onProgress: (share: number, stage: string) => void;
  /** What is known of the answer so far, with the buffers to hand over. */
  readonly onPart: (part: Part, transfer?: readonly unknown[]) => void;
}

export interface Answer<Gets> {
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
  /** Of each question under way, whether somebody still waits. */
  const wanted = new Map<number, boolean>();

  const end = (message: FromRemote, transfer: readonly unknown[] = []): void => {
    wanted.delete(message.ticket);
    post(message, transfer);
  };

  async function answer({ ticket, name, asks }: Extract<ToRemote, { kind: 'ask' }>): Promise<void> {
    wanted.set(ticket, true);
    const asker: Asker<PartOf<Q, keyof Q>> = {
      shouldStop: () => !wanted.get(ticket),
      onProgress: (share, stage) => post({ kind: 'progress', ticket, share, stage }, []),
      onPart: (part, transfer = []) => post({ kind: 'part', ticket, part }, transfer),
    };
    const { gets, transfer } = await answerers[name as keyof Q](asks, asker);
    end({ kind: 'answer', ticket, gets }, transfer);
  }

  return (message) => {
    const { ticket } = message;
    if (message.kind === 'stop') {
      if (wanted.has(ticket)) wanted.set(ticket, false);
      return;
    }
    answer(message).catch((error: unknown) => {
      if (error instanceof Cancelled) end({ kind: 'stopped', ticket });
      else end({ kind: 'failed', ticket, message: error instanceof Error ? error.message : String(error) });
    });
  };
}
