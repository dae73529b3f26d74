import { saveFile } from '../files/save-file.ts';
import { openDatabase } from '../store/database.ts';
import { flushPiece, storageFault } from '../store/keeping.ts';
import { useKeeping } from '../store/keeping-store.ts';
import { copyPiece, type Listed, listLeftovers, listPieces, removePiece, restorePiece } from '../store/library.ts';
import { heldPieces } from '../store/lock.ts';
import { openKept, saveKeptFile } from '../store/open-kept.ts';
import type { Leftover } from '../store/records.ts';
import { setPieces, usePieces } from './pieces-store.ts';

/** Does something with the kept pieces and shows them as they are then. */
async function trying(work: () => Promise<void>): Promise<void> {
  try {
    setPieces({ fault: null });
    await work();
    const database = await openDatabase();
    const pieces = await listPieces(database);
    const held = await heldPieces(pieces.map(({ id }) => id));
    setPieces({ pieces, held, leftovers: await listLeftovers(database) });
  } catch (error) {
    setPieces({ pieces: usePieces.getState().pieces ?? [], fault: storageFault(error as Error) });
  }
}

/** Shows the list, with what was changed last. */
export function showPieces(): Promise<void> {
  setPieces({ open: true });
  return trying(() => flushPiece().catch(() => {}));
}

export const closePieces = (): void => setPieces({ open: false, removed: null });

export async function openListed({ id }: Listed): Promise<void> {
  closePieces();
  await openKept(id);
}

export const copyListed = ({ id }: Listed): Promise<void> =>
  trying(async () => {
    await flushPiece().catch(() => {});
    await copyPiece(await openDatabase(), id);
  });

export const saveListed = ({ id }: Listed): Promise<void> => trying(() => saveKeptFile(id));

export const removeListed = ({ id }: Listed): Promise<void> =>
  trying(async () => {
    if (id === useKeeping.getState().id || (await heldPieces([id])).has(id)) return;
    setPieces({ removed: await removePiece(await openDatabase(), id) });
  });

export const undoRemoval = (): Promise<void> =>
  trying(async () => {
    const { removed } = usePieces.getState();
    if (removed) await restorePiece(await openDatabase(), removed);
    setPieces({ removed: null });
  });

/** What an earlier layout held and nobody could read, as a file. */
export function saveLeftover({ title, value }: Leftover): void {
  const bytes =
    value instanceof Uint8Array
      ? value
      : new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));
  saveFile(title, bytes, 'application/octet-stream');
}
