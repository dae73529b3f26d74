import { create } from 'zustand';
import type { Listed, Removed } from '../store/library.ts';
import type { Leftover } from '../store/records.ts';

interface PiecesState {
  readonly open: boolean;
  /** Null until they have been read. */
  readonly pieces: readonly Listed[] | null;
  readonly leftovers: readonly Leftover[];
  /** Ids of those that are open in some tab. */
  readonly held: ReadonlySet<string>;
  /** The last one that was deleted, as long as it can be brought back. */
  readonly removed: Removed | null;
  readonly fault: string | null;
}

/** The list of kept pieces while it is shown. */
export const usePieces = create<PiecesState>()(() => ({
  open: false,
  pieces: null,
  leftovers: [],
  held: new Set(),
  removed: null,
  fault: null,
}));
export const setPieces = usePieces.setState;
