import { pieceCode } from '../../outputs/paper/piece-code.ts';
import { pieceImages } from '../../piece/images.ts';
import { photoBytes, rememberPhoto } from '../files/photo-bytes.ts';
import { DURABLE, openDatabase } from './database.ts';
import { readImages } from './library.ts';
import type { PieceState } from './piece-store.ts';
import { jsonOf } from './piece-writer.ts';
import { type CodeRecord, RECORD_FORMAT, readCodeRecord } from './records.ts';

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
