import type { Motion, Pass, Piece, Tone } from '../../piece/schema.ts';

export const FINDING_KINDS = [
  'uncleared',
  'scorch',
  'breakthrough',
  'lost-highlights',
  'lost-shadows',
  'fine-detail',
  'tone-error',
  'mottle',
  'graininess',
  'heat',
  'run-up',
  'row-offset',
  'unsure',
  'may-scorch',
  'low-resolution',
] as const;
export type FindingKind = (typeof FINDING_KINDS)[number];

/** What a finding may come from. */
export type Cause =
  | 'focus'
  | 'row-pitch'
  | 'film'
  | 'power'
  | 'feed'
  | 'slab-not-flat'
  | 'heat'
  | 'run-up'
  | 'row-offset'
  | 'tones'
  | 'spot'
  | 'paint'
  | 'resolution';

/** A place of the picture, mm from its left top corner, and the size of what is worth seeing there. */
export interface Place {
  readonly xMm: number;
  readonly yMm: number;
  readonly sizeMm: number;
}

/** One thing set otherwise. */
export type Edit =
  | { readonly of: 'pass'; readonly index: number; readonly set: Partial<Pass> }
  | { readonly of: 'motion'; readonly set: Partial<Motion> }
  | { readonly of: 'tone'; readonly set: Partial<Tone> };

export interface Change {
  /** An order to the maker, as in "Set the light end to 63 %". */
  readonly words: string;
  /** What then comes of it, tried on even patches; a whole sentence. */
  readonly outcome: string;
  readonly edits: readonly Edit[];
}

export interface Finding {
  readonly kind: FindingKind;
  /** 0–100: how much a maker would see it (estimate, for the order only). */
  readonly severity: number;
  /** One whole sentence for people. */
  readonly sentence: string;
  readonly value: number;
  /** Of `value`; `share` is 0–1. */
  readonly unit: 'share' | 'L*' | 'mm' | 'K';
  readonly place: Place | null;
  readonly causes: readonly Cause[];
  readonly change: Change | null;
}

/** From these severities on a finding spoils the picture, or shows; below, it is slight. */
export const SPOILS = 60;
export const SHOWS = 25;

export function applyEdits(piece: Piece, edits: readonly Edit[]): Piece {
  return edits.reduce(applyEdit, piece);
}

function applyEdit(piece: Piece, edit: Edit): Piece {
  switch (edit.of) {
    case 'pass':
      return { ...piece, passes: piece.passes.map((pass, i) => (i === edit.index ? { ...pass, ...edit.set } : pass)) };
    case 'motion':
      return { ...piece, machine: { ...piece.machine, motion: { ...piece.machine.motion, ...edit.set } } };
    case 'tone':
      return { ...piece, picture: { ...piece.picture, tone: { ...piece.picture.tone, ...edit.set } } };
  }
}

/** Puts all passes in focus; nothing to do where they are. */
export const inFocus = (piece: Piece): Edit[] =>
  piece.passes.flatMap((pass, index) =>
    pass.focusOffsetMm === 0 ? [] : [{ of: 'pass' as const, index, set: { focusOffsetMm: 0 } }],
  );

/** 0–1, rising steeply at first: half way at `half`. */
export const towards = (value: number, half: number): number => 1 - 2 ** (-Math.max(0, value) / half);
