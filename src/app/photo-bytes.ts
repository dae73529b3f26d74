import { get, set } from 'idb-keyval';

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

/** Keeps the picture of a slab's face. @returns its name, which is the same for the same bytes and no photograph's. */
export async function keepSlabFace(bytes: Uint8Array): Promise<string> {
  const file = `slab-face-${await keyOf(bytes)}.jpg`;
  opened.set(file, bytes);
  return file;
}

/** Bytes of a photograph by its key, or of a slab's face by its name. */
export const photoBytes = (key: string): Uint8Array | undefined => opened.get(key);

const SAVED_PIECE = 'foreburn-piece';
const SAVED_PHOTO = 'foreburn-photo';
const SAVED_FACE = 'foreburn-slab-face';

export interface SavedWork {
  /** JSON of the piece: checked again when it is read. */
  readonly piece: string;
  readonly photoKey: string;
  readonly photoName: string;
  /** Name of the picture of the slab's face; none if it was not photographed. */
  readonly slabFace?: string;
}

interface SavedPhoto {
  readonly key: string;
  readonly bytes: Uint8Array;
}

let savedKey: string | null = null;
let savedFace: string | null = null;

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
  const face = work.slabFace === undefined ? undefined : opened.get(work.slabFace);
  if (work.slabFace && face && savedFace !== work.slabFace) {
    savedFace = work.slabFace;
    await set(SAVED_FACE, { key: work.slabFace, bytes: face } satisfies SavedPhoto);
  }
}

/**
 * What was saved, with the photograph's bytes; those of the slab's face are null if there are none.
 * @throws Error if what was saved cannot be put together again.
 */
export async function loadWork(): Promise<{ work: SavedWork; bytes: Uint8Array; face: Uint8Array | null } | null> {
  const text = localStorage.getItem(SAVED_PIECE);
  if (text === null) return null;
  const work = JSON.parse(text) as SavedWork;
  const photo = await get<SavedPhoto>(SAVED_PHOTO);
  if (photo?.key !== work.photoKey) throw new Error('its photograph is missing');
  const face = work.slabFace === undefined ? undefined : await get<SavedPhoto>(SAVED_FACE);
  return { work, bytes: photo.bytes, face: face && face.key === work.slabFace ? face.bytes : null };
}
