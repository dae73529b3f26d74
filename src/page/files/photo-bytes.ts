import { sha256 } from '@noble/hashes/sha2.js';

/** Bytes of the photographs and images in use, by key or name; `store` keeps them in the browser. */
const opened = new Map<string, Uint8Array>();
/** Those that no piece has wanted yet: whoever opened them is about to put them on one. */
const fresh = new Set<string>();

const KEY_BYTES = 12;
const CHUNK_BYTES = 1 << 20;

/** A key that is the same for the same bytes: the first 96 bits of their SHA-256, hexadecimal. */
export async function keyOf(bytes: Uint8Array): Promise<string> {
  const digest = crypto.subtle
    ? new Uint8Array(await crypto.subtle.digest('SHA-256', bytes as BufferSource))
    : await hashInParts(bytes);
  return Array.from(digest.subarray(0, KEY_BYTES), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** For pages that are not served securely; the page stays usable meanwhile. */
async function hashInParts(bytes: Uint8Array): Promise<Uint8Array> {
  const hash = sha256.create();
  for (let at = 0; at < bytes.length; at += CHUNK_BYTES) {
    hash.update(bytes.subarray(at, at + CHUNK_BYTES));
    await new Promise((resolve) => setTimeout(resolve));
  }
  return hash.digest();
}

export function rememberPhoto(key: string, bytes: Uint8Array): void {
  if (!opened.has(key)) fresh.add(key);
  opened.set(key, bytes);
}

/** Keeps an image that belongs to a piece. @returns its name, which is the same for the same bytes and no photograph's. */
export async function keepImage(bytes: Uint8Array): Promise<string> {
  const file = `image-${await keyOf(bytes)}.jpg`;
  rememberPhoto(file, bytes);
  return file;
}

/** Bytes of a photograph by its key, or of a piece's image by its name. */
export const photoBytes = (key: string): Uint8Array | undefined => opened.get(key);

/** Lets go of what was opened and never wanted. @returns whether it is not there any more. */
export function dropUnused(name: string): boolean {
  if (fresh.delete(name)) opened.delete(name);
  return !opened.has(name);
}

/** Lets go of what was wanted once and is not among these any more. @returns the names that went. */
export function keepOnly(wanted: ReadonlySet<string>): string[] {
  for (const name of wanted) fresh.delete(name);
  const gone = [...opened.keys()].filter((name) => !wanted.has(name) && !fresh.has(name));
  for (const name of gone) opened.delete(name);
  return gone;
}
