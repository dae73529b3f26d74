import { type DBSchema, type IDBPDatabase, openDB } from 'idb';

/**
 * What this page keeps in the browser. Values are `unknown` where they are read: another version, or damage, may have written them, so
 * each is checked before it is used (`records.ts`), and what cannot be read stays as it is.
 */
interface Kept extends DBSchema {
  /**
   * Pieces by id and by the tab that may write them. `id` is unique, so a tab that another one took the piece from is refused when it
   * writes, without having to look first: a write begun while the page is left still counts.
   */
  pieces: { key: [id: string, owner: string]; value: unknown; indexes: { id: string; images: string } };
  /** Steps of undo and redo of a piece, each written once. */
  steps: { key: [piece: string, step: number]; value: unknown };
  /** Photographs and images, by a name that holds the hash of their bytes. */
  images: { key: string; value: unknown };
  /** Pieces as they were when a bench sheet was made, by its code. */
  codes: { key: string; value: unknown; indexes: { images: string } };
  /** Calibrated stacks and machines, by name. */
  shelf: { key: string; value: unknown };
  /** Cards that were saved to be burned, and how cards came out. */
  cards: { key: [kind: string, id: number]; value: unknown };
  drawings: { key: string; value: unknown };
  /** What else the page remembers: the piece that was open last, the photograph of a slab that is being marked. */
  page: { key: string; value: unknown };
  /** What an earlier layout held and nobody could read. */
  leftovers: { key: string; value: unknown };
  /** What the board shows of each piece, by its id; kept with the piece. */
  board: { key: string; value: unknown };
  /** What computing each piece told, by its id, and for which state of it. */
  foretold: { key: string; value: unknown };
  /** Files that a run over many pieces has made, until they are saved. */
  results: { key: [piece: string, name: string]; value: unknown };
}
export type Database = IDBPDatabase<Kept>;

const NAME = 'foreburn';
/** A change of the layout needs a numbered step in `upgrade`, and a test on a browser that holds the old one. */
const VERSION = 2;

let opening: Promise<Database> | null = null;
let opened: Database | null = null;

/** The browser's storage, opened once; opened anew after it was closed or could not be opened. */
export function openDatabase(): Promise<Database> {
  opening ??= open();
  return opening;
}

/** A browser whose storage is switched off throws at once: here it rejects as well. */
async function open(): Promise<Database> {
  try {
    opened = await openDB<Kept>(NAME, VERSION, {
      upgrade(database, from) {
        if (from < 1) layOut(database);
        if (from < 2) {
          database.createObjectStore('board', { keyPath: 'id' });
          database.createObjectStore('foretold', { keyPath: 'id' });
          database.createObjectStore('results', { keyPath: ['of', 'name'] });
        }
      },
      // A newer page wants to change the layout: it must not wait for this one.
      blocking: closeDatabase,
      terminated: closeDatabase,
    });
    return opened;
  } catch (error) {
    opening = null;
    throw error;
  }
}

/** The first layout. */
function layOut(database: Database): void {
  const pieces = database.createObjectStore('pieces', { keyPath: ['id', 'owner'] });
  pieces.createIndex('id', 'id', { unique: true });
  pieces.createIndex('images', 'images', { multiEntry: true });
  database.createObjectStore('steps', { keyPath: ['of', 'step'] });
  database.createObjectStore('images', { keyPath: 'name' });
  database.createObjectStore('codes', { keyPath: 'code' }).createIndex('images', 'images', { multiEntry: true });
  database.createObjectStore('shelf', { keyPath: 'name' });
  database.createObjectStore('cards', { keyPath: ['card.kind', 'card.id'] });
  database.createObjectStore('drawings', { keyPath: 'name' });
  database.createObjectStore('page');
  database.createObjectStore('leftovers', { keyPath: 'name' });
}

/** The storage if it is open: for what must be written before the page is gone. */
export const openedDatabase = (): Database | null => opened;

export function closeDatabase(): void {
  opened?.close();
  opened = null;
  opening = null;
}

/** Committed once it is on the disk, not once the system has promised to put it there. */
export const DURABLE = { durability: 'strict' } as const;
