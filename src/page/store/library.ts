import { pieceCode } from '../../outputs/paper/piece-code.ts';
import { packPieceText, parsePiece } from '../../piece/file.ts';
import { pieceImages } from '../../piece/images.ts';
import type { Piece } from '../../piece/schema.ts';
import { keyOf, photoBytes, rememberPhoto } from '../files/photo-bytes.ts';
import { freshId } from '../files/save-file.ts';
import { rowOf } from './board-rows.ts';
import { type Database, DURABLE, openDatabase } from './database.ts';
import type { PieceState } from './piece-store.ts';
import { jsonOf, OWNER } from './piece-writer.ts';
import {
  type CodeRecord,
  glance,
  imageSchema,
  type Leftover,
  type PieceRecord,
  RECORD_FORMAT,
  readCodeRecord,
  readLeftovers,
  readPieceRecord,
  type StepRecord,
  stepSchema,
  sweepImages,
} from './records.ts';

/** The bytes of a kept photograph; null if they are not there. */
export const keptPhoto = async (database: Database, key: string): Promise<Uint8Array | null> =>
  (await imagesAsTheyAre(database, [key])).get(key) ?? null;

export const listLeftovers = async (database: Database): Promise<readonly Leftover[]> =>
  readLeftovers(await database.getAll('leftovers'));

const stepsOf = (id: string): IDBKeyRange => IDBKeyRange.bound([id], [id, []]);

/** What the browser holds of a piece, read but not yet taken apart. */
export interface KeptPiece {
  readonly record: PieceRecord;
  readonly piece: Piece;
  /** Numbers of all its steps, and those of them that can be read. */
  readonly numbers: readonly number[];
  readonly steps: ReadonlyMap<number, StepRecord>;
  /** Bytes of its images; damaged ones are not among them. */
  readonly images: ReadonlyMap<string, Uint8Array>;
}

/** @returns null if there is no such piece. @throws PieceError if it cannot be read here; it stays as it is. */
export async function readKeptPiece(database: Database, id: string): Promise<KeptPiece | null> {
  const value = await database.getFromIndex('pieces', 'id', id);
  if (value === undefined) return null;
  const { record, piece } = readPieceRecord(value);
  const keys = await database.getAllKeys('steps', stepsOf(id));
  const steps = (await database.getAll('steps', stepsOf(id))).flatMap((step): [number, StepRecord][] => {
    const result = stepSchema.safeParse(step);
    return result.success ? [[result.data.step, result.data]] : [];
  });
  const images = await readImages(database, record.images);
  return { record, piece, numbers: keys.map(([, step]) => step), steps: new Map(steps), images };
}

/** A kept piece as it is now, without its undo and its images. @returns null if it is not there. @throws PieceError if it cannot be read here. */
export async function keptState(database: Database, id: string): Promise<PieceState | null> {
  const value = await database.getFromIndex('pieces', 'id', id);
  if (value === undefined) return null;
  const { record, piece } = readPieceRecord(value);
  return { piece, photo: record.photo };
}

/** Makes this tab the one that may write a piece: what another one writes from then on is refused. */
export async function ownPiece(database: Database, { id }: PieceRecord): Promise<void> {
  const transaction = database.transaction(['pieces', 'page'], 'readwrite', DURABLE);
  const pieces = transaction.objectStore('pieces');
  const value = await pieces.index('id').get(id);
  const key = await pieces.index('id').getKey(id);
  if (key !== undefined && key[1] !== OWNER) {
    await pieces.delete(key);
    await pieces.put({ ...(value as PieceRecord), owner: OWNER });
  }
  await transaction.objectStore('page').put(id, 'last');
  await transaction.done;
}

const HASH = /[0-9a-f]{24}/;

/** The images of these names as they are there, damaged or not. */
async function imagesAsTheyAre(database: Database, names: readonly string[]): Promise<Map<string, Uint8Array>> {
  const images = new Map<string, Uint8Array>();
  for (const name of names) {
    const parsed = imageSchema.safeParse(await database.get('images', name));
    if (parsed.success) images.set(name, parsed.data.bytes);
  }
  return images;
}

/** The images of these names that are there and whole. */
async function readImages(database: Database, names: readonly string[]): Promise<Map<string, Uint8Array>> {
  const images = await imagesAsTheyAre(database, names);
  for (const [name, bytes] of images) {
    const hash = HASH.exec(name)?.[0];
    if (hash !== undefined && hash !== (await keyOf(bytes))) images.delete(name);
  }
  return images;
}

/** A kept piece as a file, byte for byte, even one that cannot be read here. */
export async function keptPieceFile(database: Database, id: string): Promise<{ title: string; bytes: Uint8Array }> {
  const value = (await database.getFromIndex('pieces', 'id', id)) as PieceRecord | undefined;
  const { title, photoName, images: names } = glance(value);
  const found = await imagesAsTheyAre(database, names);
  const images = new Map(
    [...found].map(([name, bytes]) => [name === value?.photo?.key ? (photoName ?? name) : name, bytes]),
  );
  const text = typeof value?.piece === 'string' ? value.piece : JSON.stringify(value ?? null);
  return { title, bytes: packPieceText(text, images) };
}

/** Puts a second one beside a piece, with its undo and its pins. @returns its id. */
export async function copyPiece(database: Database, id: string): Promise<string> {
  const copy = freshId('piece');
  const transaction = database.transaction(['pieces', 'steps', 'board', 'foretold'], 'readwrite', DURABLE);
  const value = await transaction.objectStore('pieces').index('id').get(id);
  const { record } = readPieceRecord(value);
  const piece = copyOf(parsePiece(record.piece));
  const told = await transaction.objectStore('foretold').get(id);
  for (const step of await transaction.objectStore('steps').getAll(stepsOf(id))) {
    await transaction.objectStore('steps').put({ ...(step as StepRecord), of: copy });
  }
  const changedAt = Date.now();
  const copied = { ...record, id: copy, owner: OWNER, title: piece.name, changedAt, piece: JSON.stringify(piece) };
  await transaction.objectStore('pieces').put(copied);
  await transaction.objectStore('board').put(rowOf(copied, piece));
  if (told !== undefined) await transaction.objectStore('foretold').put({ ...(told as object), id: copy });
  await transaction.done;
  return copy;
}

/** Changes a kept piece. It must be open in no tab. @returns the piece as it was; null if it is not there any more. @throws PieceError if it cannot be read. */
export async function editKept(database: Database, id: string, edit: (piece: Piece) => Piece): Promise<Piece | null> {
  const transaction = database.transaction(['pieces', 'board'], 'readwrite', DURABLE);
  const pieces = transaction.objectStore('pieces');
  const value = await pieces.index('id').get(id);
  if (value === undefined) return null;
  const { record, piece } = readPieceRecord(value);
  const edited = edit(piece);
  const changed = { ...record, title: edited.name, piece: JSON.stringify(edited) };
  await pieces.put(changed);
  await transaction.objectStore('board').put(rowOf(changed, edited));
  await transaction.done;
  return piece;
}

/** Keeps a piece that came from a file, beside those that are there. @param images by the names that the piece has for them @returns its id. */
export async function joinPiece(
  database: Database,
  { piece, photo }: PieceState,
  images: ReadonlyMap<string, Uint8Array>,
): Promise<string> {
  const record: PieceRecord = {
    format: RECORD_FORMAT,
    id: freshId('piece'),
    owner: OWNER,
    title: piece.name,
    changedAt: Date.now(),
    piece: JSON.stringify(piece),
    photo,
    images: [...images.keys()],
    past: [],
    future: [],
    pins: [],
  };
  const transaction = database.transaction(['images', 'pieces', 'board'], 'readwrite', DURABLE);
  const asked: Promise<unknown>[] = [transaction.done];
  for (const [name, bytes] of images) asked.push(transaction.objectStore('images').put({ name, bytes }));
  asked.push(transaction.objectStore('pieces').put(record));
  asked.push(transaction.objectStore('board').put(rowOf(record, piece)));
  await Promise.all(asked);
  return record.id;
}

const MOST_NAME = 200;

/** A copy of a copy is counted on. */
export function nameOfCopy(name: string): string {
  const [, of, counted] = /^(.*?)(?: \(copy(?: (\d+))?\))?$/s.exec(name.trim()) as RegExpExecArray;
  const isCopy = of.length < name.trim().length;
  const ending = isCopy ? ` (copy ${Number(counted ?? 1) + 1})` : ' (copy)';
  return `${of.slice(0, MOST_NAME - ending.length)}${ending}`.trim();
}

/** The piece under a name that tells it from the first. */
export const copyOf = (piece: Piece): Piece => ({
  ...piece,
  name: nameOfCopy(piece.name),
});

/** All of a piece that was taken away, to put it back. */
export interface Removed {
  readonly title: string;
  readonly value: unknown;
  readonly steps: readonly unknown[];
  readonly images: ReadonlyMap<string, Uint8Array>;
  /** What was computed of it; undefined for nothing. */
  readonly told: unknown;
}

/** Takes a piece away with its steps, and the images that nothing else wants. @returns null if it is not there any more. */
export async function removePiece(database: Database, id: string): Promise<Removed | null> {
  const value = await database.getFromIndex('pieces', 'id', id);
  if (value === undefined) return null;
  const { title, images: names } = glance(value);
  const images = await imagesAsTheyAre(database, names);
  const steps = await database.getAll('steps', stepsOf(id));
  const told = await database.get('foretold', id);
  const transaction = database.transaction(['pieces', 'steps', 'board', 'foretold'], 'readwrite', DURABLE);
  const pieces = transaction.objectStore('pieces');
  const key = await pieces.index('id').getKey(id);
  if (key !== undefined) await pieces.delete(key);
  await transaction.objectStore('steps').delete(stepsOf(id));
  await transaction.objectStore('board').delete(id);
  await transaction.objectStore('foretold').delete(id);
  await transaction.done;
  await sweepImages(database);
  return { title, value, steps, images, told };
}

export async function restorePiece(database: Database, { value, steps, images, told }: Removed): Promise<void> {
  const transaction = database.transaction(['images', 'steps', 'pieces', 'foretold'], 'readwrite', DURABLE);
  for (const [name, bytes] of images) await transaction.objectStore('images').put({ name, bytes });
  for (const step of steps) await transaction.objectStore('steps').put(step);
  await transaction.objectStore('pieces').put(value);
  if (told !== undefined) await transaction.objectStore('foretold').put(told);
  await transaction.done;
}

const FRAGMENT = /^#piece=(.+)$/;

/** Keeps a piece, as it is now, in this browser under its code. Rejects if there is no room. @returns the code. */
export async function keepByCode({ piece, photo }: PieceState): Promise<string> {
  const code = pieceCode(jsonOf(piece));
  const database = await openDatabase();
  const images = [...(photo ? [photo.key] : []), ...pieceImages(piece)];
  const record: CodeRecord = { format: RECORD_FORMAT, code, piece: jsonOf(piece), photo, images };
  const transaction = database.transaction(['images', 'codes'], 'readwrite', DURABLE);
  const asked: Promise<unknown>[] = [transaction.done];
  for (const name of images) {
    const bytes = photoBytes(name);
    if (bytes) asked.push(transaction.objectStore('images').put({ name, bytes }));
  }
  asked.push(transaction.objectStore('codes').put(record));
  await Promise.all(asked);
  return code;
}

/**
 * The piece kept under a code, its photograph and images ready.
 * @throws Error with the way out if this browser does not hold it, or cannot read it.
 */
export async function keptPiece(code: string): Promise<PieceState> {
  const database = await openDatabase();
  const value = await database.get('codes', code);
  if (value === undefined) {
    throw new Error(
      `Piece ${code} is not kept in this browser; open its file, or use the computer that made the sheet.`,
    );
  }
  const { record, piece } = readCodeRecord(value);
  for (const [name, bytes] of await readImages(database, record.images)) rememberPhoto(name, bytes);
  return { piece, photo: record.photo };
}

/** Address of this page that opens a piece by its code. */
export const codeAddress = (code: string): string => `${location.origin}${location.pathname}#piece=${code}`;

/** The code that this page was opened with; null for none. It is asked once: what is loaded anew goes on from there. */
export function askedCode(): string | null {
  const code = FRAGMENT.exec(location.hash)?.[1] ?? null;
  if (code !== null) history.replaceState(null, '', location.pathname + location.search);
  return code;
}
