import { delMany, get, keys, set } from 'idb-keyval';

/** Bytes of the photographs opened in this session, by key; also kept in the browser so that a reload finds them. */
const opened = new Map<string, Uint8Array>();

/** A key that is the same for the same bytes. */
export async function keyOf(bytes: Uint8Array): Promise<string> {
  const digest = await crypto.subtle?.digest('SHA-256', bytes as BufferSource);
  if (!digest) return `photo-${bytes.length}-${performance.now()}`;
  return Array.from(new Uint8Array(digest).subarray(0, 12), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

export function rememberPhoto(key: string, bytes: Uint8Array): void {
  opened.set(key, bytes);
}

/** Keeps an image that belongs to a piece. @returns its name, which is the same for the same bytes and no photograph's. */
export async function keepImage(bytes: Uint8Array): Promise<string> {
  const file = `image-${await keyOf(bytes)}.jpg`;
  opened.set(file, bytes);
  return file;
}

/** Bytes of a photograph by its key, or of a piece's image by its name. */
export const photoBytes = (key: string): Uint8Array | undefined => opened.get(key);

const SAVED_PIECE = 'foreburn-piece';
const SAVED_PHOTO = 'foreburn-photo';
const savedImage = (name: string): string => `foreburn-${name}`;

export interface SavedWork {
  /** JSON of the piece: checked again when it is read. */
  readonly piece: string;
  readonly photoKey: string;
  readonly photoName: string;
  /** Names of the piece's images. */
  readonly images: readonly string[];
}

interface SavedPhoto {
  readonly key: string;
  readonly bytes: Uint8Array;
}

let savedKey: string | null = null;
const savedImages = new Set<string>();

/**
 * Saves the work in the browser: the piece at once, so that a page that is left the next moment loses nothing; the pictures, which
 * are large, only when they are others. Rejects if there is no room.
 */
export async function saveWork(work: SavedWork): Promise<void> {
  localStorage.setItem(SAVED_PIECE, JSON.stringify(work));
  const bytes = opened.get(work.photoKey);
  if (bytes && savedKey !== work.photoKey) {
    savedKey = work.photoKey;
    await set(SAVED_PHOTO, { key: work.photoKey, bytes } satisfies SavedPhoto);
  }
  for (const name of work.images) {
    const image = opened.get(name);
    if (!image || savedImages.has(name)) continue;
    savedImages.add(name);
    await set(savedImage(name), image);
  }
}

export interface LoadedWork {
  readonly work: SavedWork;
  readonly bytes: Uint8Array;
  readonly images: ReadonlyMap<string, Uint8Array>;
}

/**
 * What was saved, with the photograph's bytes and the piece's images as far as they are there. Images of work before are let go.
 * @throws Error if what was saved cannot be put together again.
 */
export async function loadWork(): Promise<LoadedWork | null> {
  const text = localStorage.getItem(SAVED_PIECE);
  if (text === null) return null;
  const work = JSON.parse(text) as SavedWork;
  const photo = await get<SavedPhoto>(SAVED_PHOTO);
  if (photo?.key !== work.photoKey) throw new Error('its photograph is missing');
  const wanted = new Set((work.images ?? []).map(savedImage));
  const images = new Map<string, Uint8Array>();
  for (const name of work.images ?? []) {
    const image = await get<Uint8Array>(savedImage(name));
    if (image) images.set(name, image);
  }
  const stale = (await keys<string>()).filter((key) => key.startsWith(savedImage('image-')) && !wanted.has(key));
  await delMany(stale);
  return { work, bytes: photo.bytes, images };
}
