import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { create } from 'zustand';
import { inBackground } from '../faults/lazy-part.tsx';
import { Section } from '../fields/SheetDialog.tsx';
import { saveFile } from '../files/save-file.ts';
import { openDatabase } from '../store/database.ts';
import { flushPiece, heldPieces, storageFault, useKeepingStore } from '../store/keeping.ts';
import {
  copyPiece,
  type Listed,
  listLeftovers,
  listPieces,
  type Removed,
  removePiece,
  restorePiece,
} from '../store/library.ts';
import { openKept, saveKeptFile } from '../store/open-kept.ts';
import type { Leftover } from '../store/records.ts';
import './pieces.css';

/** The pieces that this browser keeps: to open, copy, delete, or to save where they cannot be read. */
export function PiecesDialog() {
  const pieces = usePiecesStore((state) => state.pieces);
  const leftovers = usePiecesStore((state) => state.leftovers);
  const removed = usePiecesStore((state) => state.removed);
  const fault = usePiecesStore((state) => state.fault);
  return (
    <ModalOverlay className="pieces-veil" isOpen onOpenChange={(open) => !open && closePieces()} isDismissable>
      <Modal className="pieces-modal">
        <Dialog className="pieces-dialog" aria-label="Pieces kept in this browser">
          <header className="pieces-head">
            <Heading slot="title">Pieces kept in this browser</Heading>
            <Button className="quiet" onPress={closePieces}>
              Close
            </Button>
          </header>
          <Section name="The list of pieces">
            {fault && <p className="pieces-said">Not done: {fault}.</p>}
            {removed && (
              <p className="pieces-said" role="status">
                “{removed.title}” is deleted.
                <Button className="quiet" onPress={() => inBackground(undoRemoval())}>
                  Undo
                </Button>
              </p>
            )}
            {pieces?.length === 0 && (
              <p className="plain">None yet: the piece on the table is kept once you change it.</p>
            )}
            <ul className="pieces-list">
              {pieces?.map((piece) => (
                <PieceRow key={piece.id} piece={piece} />
              ))}
              {leftovers.map((leftover) => (
                <li key={leftover.name} className="pieces-row">
                  <div>
                    <b>{leftover.title}</b>
                    <small>left by an earlier Foreburn; it cannot be read here and stays as it is</small>
                  </div>
                  <Button className="quiet" onPress={() => saveLeftover(leftover)}>
                    Save as a file
                  </Button>
                </li>
              ))}
            </ul>
          </Section>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}

function PieceRow({ piece }: { piece: Listed }) {
  const held = usePiecesStore((state) => state.held.has(piece.id));
  const isHere = useKeepingStore((state) => state.id === piece.id);
  const when = new Date(piece.changedAt).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
  const where = isHere ? 'open here' : held ? 'open in another tab' : null;
  return (
    <li className="pieces-row" aria-label={piece.title}>
      <div>
        <b>{piece.title}</b>
        <small>{piece.fault ?? [when, piece.photoName, where].filter(Boolean).join(' · ')}</small>
      </div>
      {piece.fault === null ? (
        <>
          <Button className="quiet" isDisabled={isHere} onPress={() => inBackground(openListed(piece))}>
            Open
          </Button>
          <Button className="quiet" onPress={() => inBackground(copyListed(piece))}>
            Copy
          </Button>
        </>
      ) : (
        <Button className="quiet" onPress={() => inBackground(saveListed(piece))}>
          Save as a file
        </Button>
      )}
      <Button className="quiet" isDisabled={held || isHere} onPress={() => inBackground(removeListed(piece))}>
        Delete
      </Button>
    </li>
  );
}

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
    setPieces({ pieces: usePiecesStore.getState().pieces ?? [], fault: storageFault(error as Error) });
  }
}

/** Shows the list, with what was changed last. */
export function showPieces(): Promise<void> {
  setPieces({ open: true });
  return trying(() => flushPiece().catch(() => {}));
}

const closePieces = (): void => setPieces({ open: false, removed: null });

async function openListed({ id }: Listed): Promise<void> {
  closePieces();
  await openKept(id);
}

const copyListed = ({ id }: Listed): Promise<void> =>
  trying(async () => {
    await flushPiece().catch(() => {});
    await copyPiece(await openDatabase(), id);
  });

const saveListed = ({ id }: Listed): Promise<void> => trying(() => saveKeptFile(id));

const removeListed = ({ id }: Listed): Promise<void> =>
  trying(async () => {
    if (id === useKeepingStore.getState().id || (await heldPieces([id])).has(id)) return;
    setPieces({ removed: await removePiece(await openDatabase(), id) });
  });

const undoRemoval = (): Promise<void> =>
  trying(async () => {
    const { removed } = usePiecesStore.getState();
    if (removed) await restorePiece(await openDatabase(), removed);
    setPieces({ removed: null });
  });

/** What an earlier layout held and nobody could read, as a file. */
function saveLeftover({ title, value }: Leftover): void {
  const bytes =
    value instanceof Uint8Array
      ? value
      : new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));
  saveFile(title, bytes, 'application/octet-stream');
}

interface PiecesState {
  readonly open: boolean;
  /** Null until they have been read. */
  readonly pieces: readonly Listed[] | null;
  readonly leftovers: readonly Leftover[];
  /** Ids of those that are open in some tab. */
  readonly held: ReadonlySet<string>;
  /** The last one that was deleted, as long as it can be brought back. */
  readonly removed: Removed | null;
  readonly fault: string | null;
}

/** The list of kept pieces while it is shown. */
export const usePiecesStore = create<PiecesState>()(() => ({
  open: false,
  pieces: null,
  leftovers: [],
  held: new Set(),
  removed: null,
  fault: null,
}));

const setPieces = usePiecesStore.setState;
