import { useState } from 'react';
import { create } from 'zustand';
import { Cancelled } from '../../base/stop.ts';

interface TaskState {
  /** What is being done, in words; null while nothing is. */
  readonly busy: string | null;
  /** How much of it is done, 0–1. */
  readonly share: number;
  /** What went wrong, as a sentence. */
  readonly fault: string | null;
  /** What was done last, as a sentence. */
  readonly said: string | null;
}

/** What work gets: whether it is still wanted, and where to say how far it is; as questions to workers take it. */
export interface TaskHow {
  readonly signal: AbortSignal;
  readonly onProgress: (share: number) => void;
  /** What is being done from here on. */
  readonly goOn: (busy: string) => void;
}

export interface Task {
  /** A part of what is under way, for a component. */
  readonly use: <Part>(select: (state: TaskState) => Part) => Part;
  readonly state: () => TaskState;
  /** Does something that takes long; what was under way is given up. Null if it was stopped, or went wrong and is told. */
  readonly run: <Value>(busy: string, work: (how: TaskHow) => Promise<Value>) => Promise<Value | null>;
  readonly stop: () => void;
  /** Says something beside the work: what was done without any, or what went wrong. */
  readonly tell: (news: Partial<Pick<TaskState, 'fault' | 'said'>>) => void;
}

/** One thing at a time that takes long, as the page shows it: what is being done, how far it is, what came of it. */
export function createTask(): Task {
  const store = create<TaskState>()(() => ({ busy: null, share: 0, fault: null, said: null }));
  let running: AbortController | null = null;
  return {
    use: store,
    state: store.getState,
    async run(busy, work) {
      running?.abort();
      const own = new AbortController();
      running = own;
      // What was given up says nothing any more.
      const set = (part: Partial<TaskState>) => running === own && store.setState(part);
      set({ busy, share: 0, fault: null, said: null });
      try {
        return await work({
          signal: own.signal,
          onProgress: (share) => set({ share }),
          goOn: (words) => set({ busy: words }),
        });
      } catch (error) {
        own.abort();
        if (!(error instanceof Cancelled)) set({ fault: faultOf(error) });
        return null;
      } finally {
        set({ busy: null });
      }
    },
    stop: () => running?.abort(),
    tell: store.setState,
  };
}

/** A task that lives as long as the component. */
export const useTask = (): Task => useState(createTask)[0];

/** What went wrong, as a sentence of its own: first letter large, full stop at the end. */
export const faultOf = (error: unknown): string => sentence(error instanceof Error ? error.message : String(error));

const sentence = (text: string): string =>
  `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;
