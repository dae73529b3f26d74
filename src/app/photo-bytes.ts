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

export const photoBytes = (key: string): Uint8Array | undefined => opened.get(key);

const SAVED_PIECE = 'foreburn-piece';
const SAVED_PHOTO = 'foreburn-photo';

export interface SavedWork {
  /** JSON of the piece: checked again when it is read. */
  readonly piece: string;
  readonly photoKey: string;
  readonly photoName: string;
}

let savedKey: string | null = null;

/** Saves the work in the browser. The photograph is only written when it is another one. */
export async function saveWork(work: SavedWork): Promise<void> {
  const bytes = opened.get(work.photoKey);
  if (bytes && savedKey !== work.photoKey) {
    await set(SAVED_PHOTO, bytes);
    savedKey = work.photoKey;
  }
  await set(SAVED_PIECE, work);
}

export async function loadWork(): Promise<{ work: SavedWork; bytes: Uint8Array } | null> {
  const [work, bytes] = await Promise.all([get<SavedWork>(SAVED_PIECE), get<Uint8Array>(SAVED_PHOTO)]);
  return work && bytes ? { work, bytes } : null;
}
