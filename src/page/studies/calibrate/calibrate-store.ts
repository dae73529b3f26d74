import { create } from 'zustand';
import type { Point } from '../../../base/geometry/outline.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { Drift } from '../../../studies/calibrate/drift.ts';
import type { CardFit } from '../../../studies/calibrate/fit-card.ts';
import type { Changes, ShelfEntry } from '../../../studies/calibrate/shelf/shelf.ts';
import type { Band } from '../../../studies/sure/how-sure.ts';
import type { Card, CardKind } from '../../../vision/card/card.ts';
import { CARD_WISH, type CardWish } from '../../../vision/card/make-card.ts';
import type { LadderSeen } from '../../../vision/card/reading.ts';
import { createTask } from '../../remote/task.ts';
import { DURABLE, openDatabase } from '../../store/database.ts';
import {
  type CardDrawing,
  type CardRecord,
  type DrawingRecord,
  type KeptCard,
  readCard,
  readDrawing,
} from '../../store/records.ts';
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
interface Notes {
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
}

const STEPS = 100;

/** Lives as long as the page: nothing is lost when the sheet is closed or one goes back. */
export const useCalibrateStore = create<CalibrateState>(() => ({
  open: false,
  part: 'card',
  work: { kind: 'step-wedge', wish: CARD_WISH, notes: NO_NOTES, readings: [], entries: [] },
  past: [],
  future: [],
  card: null,
  looks: null,
  cardKept: false,
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
}));

export const setCalibrate = useCalibrateStore.setState;

/** What is being worked out on cards, one thing at a time. */
export const calibrating = createTask();

/** The card that is chosen being drawn, beside all that. */
export const cardDrawing = createTask();

export function showPart(part: Part): void {
  calibrating.tell({ fault: null, said: null });
  setCalibrate({ part });
}

/** One step of undo. */
export function editWork(part: Partial<Work>): void {
  calibrating.tell({ fault: null, said: null });
  setCalibrate(({ work, past }) => ({
    work: { ...work, ...part },
    past: [...past.slice(1 - STEPS), work],
    future: [],
  }));
}

export function undoWork(): void {
  calibrating.tell({ fault: null, said: null });
  setCalibrate(({ work, past, future }) => {
    const before = past.at(-1);
    return before ? { work: before, past: past.slice(0, -1), future: [work, ...future] } : {};
  });
}

export function redoWork(): void {
  calibrating.tell({ fault: null, said: null });
  setCalibrate(({ work, past, future }) => {
    const [next, ...rest] = future;
    return next ? { work: next, past: [...past, work], future: rest } : {};
  });
}

export const KIND_LABELS: Readonly<Record<CardKind, string>> = {
  'step-wedge': 'Step wedge',
  swatch: 'Swatch card',
  lines: 'Line card',
  tones: 'Tone card',
  'second-pass': 'Second-pass card',
  'check-strip': 'Check strip',
};

export const KIND_NOTES: Readonly<Record<CardKind, string>> = {
  'step-wedge': 'Rising power at one feed: when the top coat shows, clears and scorches.',
  swatch: 'Power against feed: parts the threshold from the energy per depth.',
  lines: 'Single lines at rising power and focus: the spot, and how far back rows land off.',
  tones: 'Seventeen tones through the screen of your first pass.',
  'second-pass': 'A wedge over a weakly burned field: what a second pass still clears.',
  'check-strip': 'Eight patches in a minute: does an entry of the shelf still hold?',
};

export const KINDS = Object.keys(KIND_LABELS) as CardKind[];

/** Three figures, without zeros that say nothing. */
export const figures = (value: number): string => {
  const rounded = Number(value.toPrecision(3));
  return Math.abs(rounded) >= 1000 ? String(Math.round(rounded)) : String(rounded);
};

/** A standard deviation of a logarithm as ± per cent. */
export const plusMinus = (deviation: number): string => {
  const percent = 100 * (Math.exp(deviation) - 1);
  return `± ${percent < 10 ? percent.toFixed(1) : Math.round(percent)} %`;
};

/** How much of the spread a card is expected to take away, in words. */
export const worthWords = (keeps: number): string => {
  const taken = Math.round((100 * (1 - keeps)) / 5) * 5;
  return taken < 5 ? 'shows little that is not known' : `takes about ${taken} % off the likely error`;
};

export const today = (): string => {
  const now = new Date();
  const two = (value: number) => String(value).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
};

const MOST_CARDS = 20;

const MOST_PICTURES = 60;

/** Cards that were saved here, the newest first. */
export async function keptCards(): Promise<readonly KeptCard[]> {
  const found = newestFirst((await (await openDatabase()).getAll('cards')) as CardRecord[]);
  return found.map(readCard).filter((card) => card !== null);
}

export async function keepCard(card: Card, date: string): Promise<readonly KeptCard[]> {
  const record: CardRecord = { card, date, keptAt: Date.now() };
  const cards = (await openDatabase()).transaction('cards', 'readwrite', DURABLE);
  await cards.store.put(record);
  const kept = newestFirst((await cards.store.getAll()) as CardRecord[]);
  for (const { card: old } of kept.slice(MOST_CARDS)) await cards.store.delete([old.kind, old.id]);
  await cards.done;
  return keptCards();
}

/** Keeps how a card came out. @returns the name it is kept by. */
export async function keepDrawing(drawing: CardDrawing): Promise<string> {
  const name = `card-${drawing.card.kind}-${drawing.card.id}`;
  const record: DrawingRecord = { ...drawing, name, keptAt: Date.now() };
  const drawings = (await openDatabase()).transaction('drawings', 'readwrite', DURABLE);
  await drawings.store.put(record);
  const kept = newestFirst((await drawings.store.getAll()) as DrawingRecord[]);
  for (const { name: old } of kept.slice(MOST_PICTURES)) await drawings.store.delete(old);
  await drawings.done;
  return name;
}

export const keptDrawing = async (name: string): Promise<CardDrawing | null> =>
  readDrawing(await (await openDatabase()).get('drawings', name));

const newestFirst = <One extends { readonly keptAt: number }>(records: readonly One[]): One[] =>
  records.toSorted((a, b) => b.keptAt - a.keptAt);
