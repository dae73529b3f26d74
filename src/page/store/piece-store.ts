import { temporal } from 'zundo';
import { create } from 'zustand';
import { createDemoPiece } from '../../piece/demo-piece.ts';
import type { Piece } from '../../piece/schema.ts';

/** A photograph that is open: its bytes are kept beside the store, by key. */
export interface OpenPhoto {
  readonly key: string;
  readonly name: string;
  readonly width: number;
  readonly height: number;
}

/** What is saved and undone. */
export interface PieceState {
  readonly piece: Piece;
  readonly photo: OpenPhoto | null;
}

interface PieceActions {
  /** One step of undo; steps that follow within a moment (a slider being drawn) become one. */
  change(edit: (piece: Piece) => Piece): void;
  replace(state: PieceState): void;
}

const UNDO_STEPS = 200;
const MERGE_MS = 600;

let lastMs = Number.NEGATIVE_INFINITY;
let holding = false;

/** Passes the first of a burst of changes on, so that undo goes back to before the burst. */
function firstOfBurst<Args extends unknown[]>(handle: (...args: Args) => void): (...args: Args) => void {
  return (...args) => {
    const now = performance.now();
    if (now - lastMs > MERGE_MS) handle(...args);
    // A hand that rests in the middle of a drag has not let go.
    lastMs = holding ? Number.POSITIVE_INFINITY : now;
  };
}

/** All changes until `endStep` are one step of undo of their own, however long they take. */
export function beginStep(): void {
  holding = true;
  lastMs = Number.NEGATIVE_INFINITY;
}

export function endStep(): void {
  holding = false;
  lastMs = Number.NEGATIVE_INFINITY;
}

export const usePieceStore = create<PieceState & PieceActions>()(
  temporal(
    (set) => ({
      piece: createDemoPiece(),
      photo: null,
      change: (edit) => set((state) => ({ piece: edit(state.piece) })),
      replace: (state) => set(state),
    }),
    {
      limit: UNDO_STEPS,
      partialize: ({ piece, photo }): PieceState => ({ piece, photo }),
      equality: (past, current) => past.piece === current.piece && past.photo === current.photo,
      handleSet: (handle) => firstOfBurst(handle),
    },
  ),
);

export const undo = (): void => usePieceStore.temporal.getState().undo();
export const redo = (): void => usePieceStore.temporal.getState().redo();
