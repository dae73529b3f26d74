import { openDB } from 'idb';
import * as z from '../../base/zod.ts';
import { inspectPicture, PAGE_FORMATS } from '../../image/inspect.ts';
import { readPieceCode } from '../../outputs/paper/piece-code.ts';
import { decodePieceFile } from '../../piece/file.ts';
import { pieceImages, renameImages } from '../../piece/images.ts';
import { importShelf } from '../../studies/calibrate/shelf/shelf.ts';
import { setProof } from '../burn/proof-store.ts';
import { keyOf } from '../files/photo-bytes.ts';
import { freshId } from '../files/save-file.ts';
import { type Database, DURABLE, openDatabase } from './database.ts';
import { newPiece, openDemo } from './files.ts';
import { beginPiece, leavePiece, startKeeping, storageFault, tabPiece, useKeepingStore } from './keeping.ts';
import { askedCode, keptPiece } from './library.ts';
import { beginOpening, openKept } from './open-kept.ts';
import { OWNER } from './piece-writer.ts';
import {
  type CardRecord,
  type CodeRecord,
  type DrawingRecord,
  type ImageRecord,
  imageSchema,
  type Leftover,
  type PieceRecord,
  RECORD_FORMAT,
  readCard,
  readDrawing,
} from './records.ts';

/** An address that ends so asks for the demo where nothing of the maker's is kept. */
const DEMO_ASKED = '#demo';

/** What was open when the page was left, else a piece to be begun; from then on what changes is kept. */
export async function openFirst(): Promise<void> {
  startKeeping();
  const code = askedCode();
  const database = await openStorage();
  if (code !== null && (await openCode(code))) return;
  if (database && (await openLast(database))) return;
  if (location.hash === DEMO_ASKED) await openDemo();
  // Without the demo the page is as good for a photograph of the maker's, and that is kept.
  if (useKeepingStore.getState().id === '') {
    beginPiece({ piece: newPiece(), photo: null }, { keeps: 'once changed' });
  }
}

/** The browser's storage, with what an earlier page kept; null if it does not work, which is told. */
async function openStorage(): Promise<Database | null> {
  let database: Database;
  try {
    database = await openDatabase();
  } catch (error) {
    const fault = storageFault(error as Error);
    setProof({
      notice: `What is kept in this browser cannot be reached: ${fault}. What you make now is safe only as a file.`,
    });
    return null;
  }
  await takeOverEarlier(database).catch((error: Error) =>
    setProof({
      notice: `What an earlier Foreburn kept in this browser could not be taken over (${error.message}). It stays where it is; load the page again to try once more.`,
    }),
  );
  return database;
}

/** The piece of this tab, or the one that was open last in any. */
async function openLast(database: Database): Promise<boolean> {
  const last = await database.get('page', 'last').catch(() => null);
  for (const id of new Set([tabPiece(), last])) {
    if (typeof id === 'string' && (await openKept(id).catch(() => false))) return true;
  }
  return false;
}

/** Opens the piece that a bench sheet's code stands for; says so if it cannot. */
export async function openCode(typed: string): Promise<boolean> {
  const code = readPieceCode(typed);
  if (code === null) {
    setProof({
      notice: `“${typed.slice(0, 20)}” is no code of a piece: it has eight letters and figures, as in 7KQ2-M0XB.`,
    });
    return false;
  }
  try {
    const isLatest = beginOpening();
    const state = await keptPiece(code);
    if (!isLatest()) return true;
    const begin = () => beginPiece(state, { keeps: 'at once' });
    if (await leavePiece(begin)) begin();
    return true;
  } catch (error) {
    setProof({ notice: (error as Error).message });
    return false;
  }
}

/** Where an earlier page kept its work, and all the rest. */
const WORK = 'foreburn-piece';

const DATABASE = 'keyval-store';

const STORE = 'keyval';

const OURS = /^foreburn-/;

/** Says that this step is done, should the browser be killed before what it took over is deleted. */
const DONE = 'took over the earlier layout';

/** Takes over, once, what an earlier page kept in this browser, and deletes it there when it is safe here. */
async function takeOverEarlier(database: Database): Promise<void> {
  const work = earlierWork();
  const store = await openEarlierStore();
  const keys = store ? (await store.getAllKeys(STORE)).filter((key) => OURS.test(String(key))) : [];
  if ((work !== null || keys.length > 0) && (await database.get('page', DONE)) !== true) {
    const entries = new Map<string, unknown>();
    for (const key of keys) entries.set(String(key), await store?.get(STORE, key));
    await keep(
      database,
      await fromEarlier({ work, entries }, { id: freshId('piece'), owner: OWNER, now: Date.now(), keyOf }),
    );
  }
  for (const key of keys) await store?.delete(STORE, key);
  store?.close();
  if (work !== null) localStorage.removeItem(WORK);
}

function earlierWork(): string | null {
  try {
    return localStorage.getItem(WORK);
  } catch {
    return null;
  }
}

/** Null where there is none; it is not made by asking for it. */
async function openEarlierStore() {
  try {
    const store = await openDB(DATABASE, undefined, {
      upgrade(_, __, ___, transaction) {
        transaction.done.catch(() => {});
        transaction.abort();
      },
    });
    if (store.objectStoreNames.contains(STORE)) return store;
    store.close();
    return null;
  } catch {
    return null;
  }
}

async function keep(database: Database, taken: Awaited<ReturnType<typeof fromEarlier>>): Promise<void> {
  const names = ['images', 'pieces', 'codes', 'shelf', 'cards', 'drawings', 'leftovers', 'page'] as const;
  const transaction = database.transaction(names, 'readwrite', DURABLE);
  const put = (name: (typeof names)[number], value: unknown, key?: string) =>
    transaction.objectStore(name).put(value, key as never);
  const { piece, slabPhoto } = taken;
  const asked: Promise<unknown>[] = [transaction.done];
  for (const image of taken.images) asked.push(put('images', image));
  for (const name of ['codes', 'shelf', 'cards', 'drawings', 'leftovers'] as const) {
    for (const value of taken[name]) asked.push(put(name, value));
  }
  if (piece) asked.push(put('pieces', piece), put('page', piece.id, 'last'));
  if (slabPhoto !== undefined) asked.push(put('page', slabPhoto, 'slab-photo'));
  asked.push(put('page', true, DONE));
  await Promise.all(asked);
}

/**
 * The layout before the database: the piece as text under one key, and under others one photograph, images, pins, pieces by their bench
 * sheets' codes, the shelf, cards and the photograph of a slab.
 */
export interface Earlier {
  readonly work: string | null;
  readonly entries: ReadonlyMap<string, unknown>;
}

/** The same as records of the database. What cannot be read is among the leftovers. */
interface TakenOver {
  readonly piece: PieceRecord | null;
  readonly images: readonly ImageRecord[];
  readonly codes: readonly CodeRecord[];
  readonly shelf: readonly { readonly name: string; readonly entry: unknown }[];
  readonly cards: readonly CardRecord[];
  readonly drawings: readonly DrawingRecord[];
  readonly slabPhoto: unknown;
  readonly leftovers: readonly Leftover[];
}

const IMAGE = /^foreburn-(image-.+)$/;

const CODE = /^foreburn-kept-(.+)$/;

const workSchema = z.object({
  piece: z.string(),
  photoKey: z.string(),
  photoName: z.string(),
  images: z.optional(z.array(z.string())),
});

const photoSchema = z.object({ key: z.string(), bytes: z.instanceof(Uint8Array) });

interface Tools {
  readonly id: string;
  readonly owner: string;
  readonly now: number;
  /** Key of bytes. */
  readonly keyOf: (bytes: Uint8Array) => Promise<string>;
}

/** Translates what an earlier page kept; loses none of it. */
export async function fromEarlier({ work, entries }: Earlier, { id, owner, now, keyOf }: Tools): Promise<TakenOver> {
  const images: ImageRecord[] = [];
  const leftovers: Leftover[] = [];
  const codes: CodeRecord[] = [];
  for (const [key, value] of entries) {
    const image = IMAGE.exec(key)?.[1];
    const code = CODE.exec(key)?.[1];
    if (image !== undefined) {
      const parsed = imageSchema.safeParse({ name: image, bytes: value });
      if (parsed.success) images.push(parsed.data);
    } else if (code !== undefined) {
      const taken = await takeCode(code, value, keyOf);
      if (taken) {
        codes.push(taken.record);
        images.push(...taken.images);
      } else leftovers.push({ name: key, title: `Piece of the bench sheet ${code}`, value });
    }
  }
  const piece = takeWork(work, entries, images, leftovers, { id, owner, now });
  const shelf = takeShelf(entries.get('foreburn-shelf'), leftovers);
  return {
    piece,
    images,
    codes,
    shelf,
    cards: takeAll(entries.get('foreburn-cards'), 'Cards', readCard, leftovers).map((card, i) => ({
      ...card,
      keptAt: now - i,
    })),
    drawings: takeAll(entries.get('foreburn-card-pictures'), 'Pictures of cards', readNamedDrawing, leftovers).map(
      (drawing, i) => ({ ...drawing, keptAt: now - i }),
    ),
    slabPhoto: entries.get('foreburn-slab-photo'),
    leftovers,
  };
}

/** Drawings were pairs of a name and a drawing. */
const readNamedDrawing = (one: unknown) => {
  const [name, drawing] = list(one);
  return readDrawing({ ...(drawing as object), name });
};

const list = (value: unknown): readonly unknown[] => (Array.isArray(value) ? value : []);

function takeWork(
  text: string | null,
  entries: Earlier['entries'],
  images: ImageRecord[],
  leftovers: Leftover[],
  { id, owner, now }: Omit<Tools, 'keyOf'>,
): PieceRecord | null {
  const photo = photoSchema.safeParse(entries.get('foreburn-photo'));
  const pins = list(entries.get('foreburn-pins'));
  if (text === null) {
    if (pins.length > 0) leftovers.push({ name: 'foreburn-pins', title: 'Pinned proofs', value: pins });
    if (photo.success) leftovers.push({ name: 'foreburn-photo', title: 'Photograph', value: photo.data.bytes });
    return null;
  }
  const work = workSchema.safeParse(jsonOr(text, null));
  const fits = photo.success && (!work.success || photo.data.key === work.data.photoKey);
  if (photo.success) {
    if (fits) images.push({ name: photo.data.key, bytes: photo.data.bytes });
    else leftovers.push({ name: 'foreburn-photo', title: 'Photograph of an earlier piece', value: photo.data.bytes });
  }
  const own = work.success ? (work.data.images ?? []) : images.map(({ name }) => name);
  const key = work.success ? work.data.photoKey : fits ? photo.data.key : null;
  const piece = work.success ? work.data.piece : text;
  const { name = '' } = (jsonOr(piece, {}) ?? {}) as { name?: unknown };
  return {
    format: RECORD_FORMAT,
    id,
    owner,
    title: String(name) || 'Piece of an earlier Foreburn',
    changedAt: now,
    piece,
    photo: fits ? sized(photo.data, work.success ? work.data.photoName : 'photograph') : null,
    images: [...new Set([...own, ...(key === null ? [] : [key])])],
    past: [],
    future: [],
    pins: [...pins],
  };
}

function jsonOr<Other>(text: string, other: Other): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return other;
  }
}

function sized({ key, bytes }: { key: string; bytes: Uint8Array }, name: string): PieceRecord['photo'] {
  try {
    const { width, height } = inspectPicture(bytes, PAGE_FORMATS);
    return { key, name, width, height };
  } catch {
    return null;
  }
}

async function takeCode(
  code: string,
  value: unknown,
  keyOf: Tools['keyOf'],
): Promise<{ record: CodeRecord; images: ImageRecord[] } | null> {
  if (!(value instanceof Uint8Array)) return null;
  try {
    const { piece, images: found } = decodePieceFile(value);
    const images: ImageRecord[] = [];
    const names = new Map<string, string>();
    for (const name of pieceImages(piece)) {
      const bytes = found.get(name);
      if (!bytes) continue;
      names.set(name, `image-${await keyOf(bytes)}.jpg`);
      images.push({ name: names.get(name)!, bytes });
    }
    const bytes = found.get(piece.picture.file);
    const key = bytes && (await keyOf(bytes));
    if (bytes && key) images.push({ name: key, bytes });
    const renamed = renameImages(piece, (name) => names.get(name) ?? null);
    const record: CodeRecord = {
      format: RECORD_FORMAT,
      code,
      piece: JSON.stringify(renamed),
      photo: bytes && key ? sized({ key, bytes }, piece.picture.file) : null,
      images: images.map(({ name }) => name),
    };
    return { record, images };
  } catch {
    return null;
  }
}

function takeShelf(value: unknown, leftovers: Leftover[]): TakenOver['shelf'] {
  if (value === undefined) return [];
  const spoilt = { name: 'foreburn-shelf', title: 'Shelf of calibrations', value };
  try {
    const { shelf, refused } = importShelf(String(value));
    if (refused.length > 0) leftovers.push(spoilt);
    return shelf.entries.map((entry) => ({ name: entry.name, entry }));
  } catch {
    leftovers.push(spoilt);
    return [];
  }
}

/** Cards, or drawings of cards, the newest first, of which those that cannot be read are left over. */
function takeAll<Taken>(
  value: unknown,
  title: string,
  read: (one: unknown) => Taken | null,
  leftovers: Leftover[],
): Taken[] {
  const taken = list(value).map(read);
  const spoilt = list(value).filter((_, i) => taken[i] === null);
  if (spoilt.length > 0) leftovers.push({ name: title, title, value: spoilt });
  return taken.filter((one) => one !== null);
}
