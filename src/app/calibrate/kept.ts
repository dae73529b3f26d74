import { get, set } from 'idb-keyval';
import { type Card, cardSchema } from '../../core/calibrate/cards/card.ts';
import { exportShelf, importShelf, type ShelfEntry } from '../../core/calibrate/shelf/shelf.ts';
import type { CardLooks } from './messages.ts';

const SHELF = 'foreburn-shelf';
const CARDS = 'foreburn-cards';
const PICTURES = 'foreburn-card-pictures';
const MOST_CARDS = 20;
const MOST_PICTURES = 60;

/** A card that was saved to be burned, with the day. */
export interface KeptCard {
  readonly card: Card;
  readonly date: string;
}

/** How a card came out, to be drawn again. */
export interface CardDrawing {
  readonly card: Card;
  readonly looks: CardLooks;
}

export const keepShelf = (entries: readonly ShelfEntry[]): Promise<void> => set(SHELF, exportShelf({ entries }));

/** The shelf of this browser; what is damaged in it is left out and named. */
export async function openShelf(): Promise<{
  readonly entries: readonly ShelfEntry[];
  readonly refused: readonly string[];
}> {
  const text = await get<string>(SHELF);
  if (text === undefined) return { entries: [], refused: [] };
  const { shelf, refused } = importShelf(text);
  return { entries: shelf.entries, refused: refused.map(({ name, reason }) => `“${name}” is left out: ${reason}.`) };
}

/** Cards that were saved here, the newest first. */
export async function keptCards(): Promise<readonly KeptCard[]> {
  const found = (await get<unknown[]>(CARDS)) ?? [];
  return found.flatMap((one): KeptCard[] => {
    const { card, date } = (one ?? {}) as { card?: unknown; date?: unknown };
    const parsed = cardSchema.safeParse(card);
    return parsed.success ? [{ card: parsed.data, date: String(date) }] : [];
  });
}

export async function keepCard(card: Card, date: string): Promise<readonly KeptCard[]> {
  const others = (await keptCards()).filter((one) => one.card.id !== card.id || one.card.kind !== card.kind);
  const cards = [{ card, date }, ...others].slice(0, MOST_CARDS);
  await set(CARDS, cards);
  return cards;
}

const pictures = async () => (await get<[string, CardDrawing][]>(PICTURES)) ?? [];

/** Keeps how a card came out. @returns the name it is kept by. */
export async function keepDrawing(drawing: CardDrawing): Promise<string> {
  const name = `card-${drawing.card.kind}-${drawing.card.id}`;
  const others = (await pictures()).filter(([known]) => known !== name);
  await set(PICTURES, [[name, drawing] as [string, CardDrawing], ...others].slice(0, MOST_PICTURES));
  return name;
}

export const keptDrawing = async (name: string): Promise<CardDrawing | null> =>
  (await pictures()).find(([known]) => known === name)?.[1] ?? null;
