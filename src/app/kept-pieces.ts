import { get, set } from 'idb-keyval';
import { pieceCode } from '../core/paper/piece-code.ts';
import { parsePiece } from '../core/piece/parse.ts';
import { photoBytes, rememberPhoto } from './photo-bytes.ts';
import { openPhoto } from './proof-client.ts';
import type { PieceState } from './stores/piece-store.ts';

/** A piece as it was when its bench sheet was made: what the code on the paper opens again in this browser. */
interface KeptPiece {
  /** JSON of the piece: checked again when it is read. */
  readonly piece: string;
  readonly photoName: string;
  readonly photoKey: string;
}

const pieceEntry = (code: string): string => `foreburn-kept-${code}`;
const photoEntry = (key: string): string => `foreburn-kept-photo-${key}`;
const FRAGMENT = /^#piece=(.+)$/;

/** Keeps a piece under its code. Rejects if the browser has no room. @returns the code. */
export async function keepByCode({ piece, photo }: PieceState): Promise<string> {
  const text = JSON.stringify(piece);
  const code = pieceCode(text);
  if (!photo) return code;
  const bytes = photoBytes(photo.key);
  if (bytes && !(await get(photoEntry(photo.key)))) await set(photoEntry(photo.key), bytes);
  await set(pieceEntry(code), { piece: text, photoName: photo.name, photoKey: photo.key } satisfies KeptPiece);
  return code;
}

/** @throws Error with the way out if this browser does not hold it. */
export async function openByCode(code: string): Promise<PieceState> {
  const kept = await get<KeptPiece>(pieceEntry(code));
  const bytes = kept && (await get<Uint8Array>(photoEntry(kept.photoKey)));
  if (!kept || !bytes) {
    throw new Error(
      `Piece ${code} is not kept in this browser; open its file, or use the computer that made the sheet.`,
    );
  }
  const size = await openPhoto(kept.photoKey, bytes);
  rememberPhoto(kept.photoKey, bytes);
  return { piece: parsePiece(kept.piece), photo: { key: kept.photoKey, name: kept.photoName, ...size } };
}

/** Address of this page that opens a piece by its code. */
export const codeAddress = (code: string): string => `${location.origin}${location.pathname}#piece=${code}`;

/** The code that this page was opened with; null for none. */
export const askedCode = (): string | null => FRAGMENT.exec(location.hash)?.[1] ?? null;
