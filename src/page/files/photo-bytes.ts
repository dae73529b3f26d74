import { sha256 } from '@noble/hashes/sha2.js';
import { type DropItem, isDirectoryDropItem, isFileDropItem } from 'react-aria-components';
import { InputError, inMiB, LIMITS } from '../../base/input-error.ts';
import { askOnce } from '../../base/remote/remote.ts';
import { inspectPicture, PAGE_FORMATS } from '../../image/inspect.ts';
import { openWorker } from '../remote/worker-port.ts';
import type { ShrinkQuestions } from './shrink-photo-worker.ts';
import type { TiffQuestions } from './tiff-worker.ts';

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

/** The files among what was dropped. @throws InputError with the way out if there are none. */
export async function droppedFiles(items: Iterable<DropItem>): Promise<[File, ...File[]]> {
  const dropped = [...items];
  const [file, ...more] = await Promise.all(dropped.filter(isFileDropItem).map((item) => item.getFile()));
  if (file) return [file, ...more];
  const folder = dropped.find(isDirectoryDropItem);
  throw new InputError(
    folder
      ? `“${folder.name}” is a folder. Drop the file itself: open the folder and take it from there.`
      : 'What was dropped is no file. Save it as one first, then drop that.',
  );
}

/**
 * All of a file that was chosen or dropped. How large it is, is asked before it is read.
 * @throws InputError that reads on from its name, as the errors of pictures do.
 */
export async function readFile(file: Blob, most: number = LIMITS.pictureBytes): Promise<Uint8Array<ArrayBuffer>> {
  if (file.size > most) throw new InputError(`is larger than ${inMiB(most)}, which is more than can be opened.`);
  try {
    return new Uint8Array(await file.arrayBuffer());
  } catch {
    throw new InputError('cannot be read any more: it was moved, or you may not read it. Open it again.');
  }
}

/** The same for a document. */
export const readTextFile = async (file: Blob, most: number = LIMITS.documentBytes): Promise<string> =>
  new TextDecoder().decode(await readFile(file, most));

/** A photograph that the page can decode, looked over before it is. @throws InputError with its name and the reason. */
export async function readPicture(file: File): Promise<Uint8Array<ArrayBuffer>> {
  try {
    const bytes = await readFile(file);
    inspectPicture(bytes, PAGE_FORMATS);
    return bytes;
  } catch (error) {
    throw new InputError(`${file.name} ${(error as Error).message}`);
  }
}

const tiffWorker = openWorker(
  () => new Worker(new URL('./tiff-worker.ts', import.meta.url), { type: 'module' }),
  'reads scans',
);

/**
 * A photograph as browsers can decode it: a TIFF becomes a PNG of the very same pixels, all else stays as it is.
 * @throws Error that reads on from its name; RemoteLost.
 */
export const readable = async (bytes: Uint8Array): Promise<Uint8Array> =>
  TIFF_HEADS.some((head) => head.every((value, i) => bytes[i] === value))
    ? askOnce<TiffQuestions, 'png'>(tiffWorker, 'png', { bytes })
    : bytes;

/** TIFF 6.0, section 2, in either order of bytes. */
const TIFF_HEADS = [
  [0x49, 0x49, 42, 0],
  [0x4d, 0x4d, 0, 42],
];

const shrinkWorker = openWorker(
  () => new Worker(new URL('./shrink-photo-worker.ts', import.meta.url), { type: 'module' }),
  'reads pictures',
);

/**
 * Decodes a photograph and makes it smaller, in a worker of its own that ends with it; null if it cannot be decoded.
 * @throws RemoteLost.
 */
export const shrinkPhoto = (file: Blob, options: ImageBitmapOptions): Promise<ImageBitmap | null> =>
  askOnce<ShrinkQuestions, 'shrink'>(shrinkWorker, 'shrink', { file, options });
