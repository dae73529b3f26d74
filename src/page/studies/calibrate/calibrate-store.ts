import { create } from 'zustand';
import type { Point } from '../../../base/geometry/point.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { Drift } from '../../../studies/calibrate/drift.ts';
import type { Changes } from '../../../studies/calibrate/shelf/age.ts';
import type { ShelfEntry } from '../../../studies/calibrate/shelf/shelf.ts';
import type { CardFit } from '../../../studies/calibrate/tell-fit.ts';
import type { Band } from '../../../studies/sure/how-sure.ts';
import type { LadderSeen } from '../../../vision/card/by-eye.ts';
import type { Card, CardKind } from '../../../vision/card/card.ts';
import { CARD_WISH, type CardWish } from '../../../vision/card/make-card.ts';
import type { KeptCard } from './kept.ts';
import type { CardLooks, CardWorth, ReadTogether } from './messages.ts';

export const PARTS = ['card', 'read', 'fit', 'shelf'] as const;
export type Part = (typeof PARTS)[number];

/** What was read off a card, or off a finished slab. */
export interface Evidence extends ReadTogether {
  readonly title: string;
  /** Keys of calibrations that it is part of already (see `calibrationKey`). */
  readonly usedIn: readonly string[];
}

/** What an eye saw, by card and row of patches. */
export interface Notes {
  readonly ladders: Readonly<Record<string, Omit<LadderSeen, 'ladder'>>>;
  readonly widths: Readonly<Record<string, number>>;
  readonly pair: number | null;
}
export const NO_NOTES: Notes = { ladders: {}, widths: {}, pair: null };

/** What the maker does here, undone step by step. The piece changes only by "Use these numbers". */
export interface Work {
  readonly kind: CardKind;
  readonly wish: CardWish;
  readonly notes: Notes;
  readonly readings: readonly Evidence[];
  readonly entries: readonly ShelfEntry[];
}

export interface CardPhoto {
  readonly file: File;
  readonly bitmap: ImageBitmap;
  /** Middles of the corner marks, clockwise from the card's left top; null while they are not known. */
  readonly corners: readonly Point[] | null;
  /** The maker has moved them. */
  readonly byHand: boolean;
}

/** A fit, and of what it was made. */
export interface FitRecord {
  readonly fit: CardFit;
  readonly base: Piece;
  readonly readings: readonly Evidence[];
  /** Uncleared share of the light areas before and after; null while it is worked out, or without a photograph. */
  readonly bands: { readonly before: Band; readonly after: Band } | null;
}

interface CalibrateState {
  readonly open: boolean;
  readonly part: Part;
  readonly work: Work;
  readonly past: readonly Work[];
  readonly future: readonly Work[];
  /** The card that is shown, and how it should come out. */
  readonly card: Card | null;
  readonly looks: CardLooks | null;
  /** It was saved, read or opened: it no longer follows what is chosen. */
  readonly cardKept: boolean;
  readonly cardFault: string | null;
  readonly cards: readonly KeptCard[];
  readonly worths: readonly CardWorth[] | null;
  readonly worthsFor: string;
  readonly how: 'eye' | 'photo';
  readonly photo: CardPhoto | null;
  readonly chipLightness: number | null;
  readonly filmMeasured: boolean;
  readonly changes: Changes;
  readonly record: FitRecord | null;
  readonly chosen: string | null;
  readonly comparedWith: string | null;
  readonly drift: { readonly name: string; readonly drift: Drift } | null;
  /** What is being worked out, in words; it can be stopped. */
  readonly busy: string | null;
  readonly fault: string | null;
  readonly said: string | null;
}

const STEPS = 100;

/** Lives as long as the page: nothing is lost when the sheet is closed or one goes back. */
export const useCalibrate = create<CalibrateState>(() => ({
  open: false,
  part: 'card',
  work: { kind: 'step-wedge', wish: CARD_WISH, notes: NO_NOTES, readings: [], entries: [] },
  past: [],
  future: [],
  card: null,
  looks: null,
  cardKept: false,
  cardFault: null,
  cards: [],
  worths: null,
  worthsFor: '',
  how: 'eye',
  photo: null,
  chipLightness: null,
  filmMeasured: false,
  changes: { batch: false, machine: false },
  record: null,
  chosen: null,
  comparedWith: null,
  drift: null,
  busy: null,
  fault: null,
  said: null,
}));
export const setCalibrate = useCalibrate.setState;

/** One step of undo. */
export const editWork = (part: Partial<Work>): void =>
  setCalibrate(({ work, past }) => ({
    work: { ...work, ...part },
    past: [...past.slice(1 - STEPS), work],
    future: [],
    fault: null,
    said: null,
  }));

export const undoWork = (): void =>
  setCalibrate(({ work, past, future }) => {
    const before = past.at(-1);
    return before ? { work: before, past: past.slice(0, -1), future: [work, ...future], fault: null, said: null } : {};
  });

export const redoWork = (): void =>
  setCalibrate(({ work, past, future }) => {
    const [next, ...rest] = future;
    return next ? { work: next, past: [...past, work], future: rest, fault: null, said: null } : {};
  });
