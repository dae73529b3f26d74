import { exportShelf, importShelf, type ShelfEntry } from '../../../studies/calibrate/shelf/shelf.ts';
import type { Card } from '../../../vision/card/card.ts';
import {
  type CardDrawing,
  type CardRecord,
  type DrawingRecord,
  type KeptCard,
  readCard,
  readDrawing,
} from '../../store/card-records.ts';
import { DURABLE, openDatabase } from '../../store/database.ts';

export type { CardDrawing, KeptCard };

const MOST_CARDS = 20;
const MOST_PICTURES = 60;

/** Keeps what has changed on the shelf; what another tab put there meanwhile, and what cannot be read here, stays. */
export async function keepShelf(before: readonly ShelfEntry[], after: readonly ShelfEntry[]): Promise<void> {
  const shelf = (await openDatabase()).transaction('shelf', 'readwrite', DURABLE);
  const names = new Set(after.map(({ name }) => name));
  await Promise.all([
    ...before.filter(({ name }) => !names.has(name)).map(({ name }) => shelf.store.delete(name)),
    ...after.filter((entry) => !before.includes(entry)).map((entry) => shelf.store.put({ name: entry.name, entry })),
    shelf.done,
  ]);
}

/** The shelf of this browser; what is damaged in it is left out and named, and stays where it is. */
export async function openShelf(): Promise<{
  readonly entries: readonly ShelfEntry[];
  readonly refused: readonly string[];
}> {
  const kept = (await (await openDatabase()).getAll('shelf')) as { readonly entry: ShelfEntry }[];
  const { shelf, refused } = importShelf(exportShelf({ entries: kept.map(({ entry }) => entry) }));
  return { entries: shelf.entries, refused: refused.map(({ name, reason }) => `“${name}” is left out: ${reason}.`) };
}

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
