import { create } from 'zustand';
import type { Draft } from './draft.ts';
import { type SlabMarks, startMarks } from './slab-marks.ts';

/** The photograph that is open, at most about 2000 pixels a side. */
export interface SlabPhoto {
  readonly file: File;
  readonly bitmap: ImageBitmap;
  readonly width: number;
  readonly height: number;
}

/** What the maker does here, undone step by step; none of it touches the piece until it is taken over. */
export interface SlabWork {
  readonly marks: SlabMarks;
  readonly draft: Draft | null;
  readonly shows: 'marks' | 'outline';
}

interface SlabPhotoState {
  readonly open: boolean;
  readonly photo: SlabPhoto | null;
  readonly work: SlabWork;
  readonly past: readonly SlabWork[];
  readonly future: readonly SlabWork[];
  /** Edits that follow with the same name become one step. */
  readonly merge: string | null;
  /** The mark under the magnifier. */
  readonly active: number;
  readonly busy: string | null;
  readonly fault: string | null;
}

const STEPS = 100;

/** Lives as long as the page: the dialog can be closed and opened again. */
export const useSlabPhoto = create<SlabPhotoState>(() => ({
  open: false,
  photo: null,
  work: { marks: startMarks(1500, 1000), draft: null, shows: 'marks' },
  past: [],
  future: [],
  merge: null,
  active: 0,
  busy: null,
  fault: null,
}));
export const setSlabPhoto = useSlabPhoto.setState;

/** One step of undo, or part of the one before if that had the same name. */
export function editWork(part: Partial<SlabWork>, merge: string | null = null): void {
  setSlabPhoto((state) => ({
    work: { ...state.work, ...part },
    past: merge !== null && merge === state.merge ? state.past : [...state.past.slice(1 - STEPS), state.work],
    future: [],
    merge,
    fault: null,
  }));
}

export const editMarks = (part: Partial<SlabMarks>, merge: string | null = null): void =>
  editWork({ marks: { ...useSlabPhoto.getState().work.marks, ...part } }, merge);

export function editDraft(part: Partial<Draft>, merge: string | null = null): void {
  const { draft } = useSlabPhoto.getState().work;
  if (draft) editWork({ draft: { ...draft, ...part } }, merge);
}

/** Adds what was worked out meanwhile; no step of its own. */
export const amendDraft = (of: Draft['outline'], part: Partial<Draft>): void =>
  setSlabPhoto(({ work }) =>
    work.draft?.outline === of ? { work: { ...work, draft: { ...work.draft, ...part } } } : {},
  );

export const undoWork = (): void =>
  setSlabPhoto(({ work, past, future }) => {
    const before = past.at(-1);
    return before ? { work: before, past: past.slice(0, -1), future: [work, ...future], merge: null, fault: null } : {};
  });

export const redoWork = (): void =>
  setSlabPhoto(({ work, past, future }) => {
    const [next, ...rest] = future;
    return next ? { work: next, past: [...past, work], future: rest, merge: null, fault: null } : {};
  });
