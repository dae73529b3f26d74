import { get, set } from 'idb-keyval';
import { pieceCode } from '../core/paper/piece-code.ts';
import { pieceFileBytes } from './piece-file.ts';
import type { PieceState } from './stores/piece-store.ts';

const entry = (code: string): string => `foreburn-kept-${code}`;
const FRAGMENT = /^#piece=(.+)$/;

/** Keeps a piece, as it is now, in this browser under its code. Rejects if there is no room. @returns the code. */
export async function keepByCode(state: PieceState): Promise<string> {
  const code = pieceCode(JSON.stringify(state.piece));
  await set(entry(code), pieceFileBytes(state));
  return code;
}

/** The piece file kept under a code. @throws Error with the way out if this browser does not hold it. */
export async function keptPiece(code: string): Promise<Uint8Array> {
  const bytes = await get<Uint8Array>(entry(code));
  if (bytes) return bytes;
  throw new Error(`Piece ${code} is not kept in this browser; open its file, or use the computer that made the sheet.`);
}

/** Address of this page that opens a piece by its code. */
export const codeAddress = (code: string): string => `${location.origin}${location.pathname}#piece=${code}`;

/** The code that this page was opened with; null for none. */
export const askedCode = (): string | null => FRAGMENT.exec(location.hash)?.[1] ?? null;
