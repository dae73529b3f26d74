import { exportShelf, importShelf, type ShelfEntry } from '../../studies/calibrate/shelf/shelf.ts';
import { DURABLE, openDatabase } from './database.ts';

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
