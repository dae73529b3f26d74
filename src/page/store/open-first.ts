import { readPieceCode } from '../../outputs/paper/piece-code.ts';
import { setProof } from '../burn/proof-store.ts';
import { type Database, openDatabase } from './database.ts';
import { openDemo } from './files.ts';
import { beginPiece, leavePiece, startKeeping, storageFault } from './keeping.ts';
import { useKeeping } from './keeping-store.ts';
import { askedCode, keptPiece } from './kept-pieces.ts';
import { openKept } from './open-kept.ts';
import { beginOpening } from './opening.ts';
import { usePieceStore } from './piece-store.ts';
import { tabPiece } from './tab.ts';
import { takeOverEarlier } from './take-over.ts';

/** What was open when the page was left, else the demo piece; from then on what changes is kept. */
export async function openFirst(): Promise<void> {
  startKeeping();
  const code = askedCode();
  const database = await openStorage();
  if (code !== null && (await openCode(code))) return;
  if (database && (await openLast(database))) return;
  await openDemo();
  // Without the demo the page is as good for a photograph of the maker's, and that is kept.
  if (useKeeping.getState().id === '') {
    const { piece, photo } = usePieceStore.getState();
    beginPiece({ piece, photo }, { keeps: 'once changed' });
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
