import { useRef, useState } from 'react';
import { Cancelled } from '../../base/cancelled.ts';
import type { MachineFile } from '../../outputs/program/machine-file.ts';
import type { JobRefusal } from '../../outputs/program/mend.ts';
import type { Piece } from '../../piece/schema.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { type SavedMachineFile, saveMachineFile } from './save-machine-file.ts';

/** What became of a file that was asked for. */
export type FileState =
  | { readonly kind: 'making'; readonly share: number; readonly stage: string }
  | { readonly kind: 'saved'; readonly saved: SavedMachineFile }
  /** Holds for the piece as it was. */
  | { readonly kind: 'refused'; readonly refusals: readonly JobRefusal[]; readonly piece: Piece }
  | { readonly kind: 'failed'; readonly message: string };

export interface MachineFiles {
  /** By the file as JSON. */
  readonly states: Readonly<Record<string, FileState>>;
  readonly busy: boolean;
  readonly make: (file: MachineFile) => void;
  readonly stop: () => void;
}

export const fileKey = (file: MachineFile): string => JSON.stringify(file);

/** Makes files for the machine one at a time, with progress and a way to stop. */
export function useMachineFiles(): MachineFiles {
  const [states, setStates] = useState<Readonly<Record<string, FileState>>>({});
  const making = useRef<AbortController | null>(null);
  const set = (file: MachineFile, state: FileState | null) =>
    setStates(({ [fileKey(file)]: _, ...others }) => (state ? { ...others, [fileKey(file)]: state } : others));

  const make = async (file: MachineFile) => {
    const { piece, photo } = usePieceStore.getState();
    if (making.current || !photo) return;
    const controller = new AbortController();
    making.current = controller;
    set(file, { kind: 'making', share: 0, stage: '' });
    try {
      const outcome = await saveMachineFile(file, piece, photo.key, {
        signal: controller.signal,
        onProgress: (share, stage) => set(file, { kind: 'making', share, stage }),
      });
      if (!outcome) set(file, null);
      else if ('refusals' in outcome) set(file, { kind: 'refused', refusals: outcome.refusals, piece });
      else set(file, { kind: 'saved', saved: outcome });
    } catch (error) {
      set(file, error instanceof Cancelled ? null : { kind: 'failed', message: (error as Error).message });
    }
    making.current = null;
  };
  return {
    states,
    busy: Object.values(states).some(({ kind }) => kind === 'making'),
    make: (file) => inBackground(make(file)),
    stop: () => making.current?.abort(),
  };
}
