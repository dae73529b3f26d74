import { useEffect, useRef, useState } from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { create } from 'zustand';
import { inBackground } from '../faults/lazy-part.tsx';
import { Section } from '../fields/SheetDialog.tsx';
import { photoBytes, shrinkPhoto } from '../files/photo-bytes.ts';
import { saveFile } from '../files/save-file.ts';
import { openDatabase } from '../store/database.ts';
import { beginBlank, lookAtDemo } from '../store/files.ts';
import { flushPiece, heldPieces, storageFault, useKeepingStore } from '../store/keeping.ts';
import {
  copyPiece,
  keptPhoto,
  type Listed,
  listLeftovers,
  listPieces,
  type Removed,
  removePiece,
  renameKept,
  restorePiece,
} from '../store/library.ts';
import { openKept, saveKeptFile } from '../store/open-kept.ts';
import { usePieceStore } from '../store/piece-store.ts';
import type { Leftover } from '../store/records.ts';
import { OpenPiece } from './OpenPiece.tsx';
import './pieces.css';

interface DrawerProps {
  onClose: () => void;
}

/** The pieces that this browser keeps: to open, copy, rename and bin, or to save where they cannot be read. */
export function PiecesDrawer({ onClose }: DrawerProps) {
  const pieces = usePiecesStore((state) => state.pieces);
  const leftovers = usePiecesStore((state) => state.leftovers);
  const removed = usePiecesStore((state) => state.removed);
  const fault = usePiecesStore((state) => state.fault);
  // What was changed last is to be among them.
  useEffect(() => inBackground(trying(() => flushPiece().catch(() => {}))), []);
  const leaveFor = (work: () => Promise<unknown>) => {
    onClose();
    inBackground(work());
  };
  return (
    <ModalOverlay className="drawer-veil" isOpen onOpenChange={(open) => !open && onClose()} isDismissable>
      <Modal className="drawer">
        <Dialog className="drawer-dialog" aria-label="Pieces kept in this browser">
          <header className="pieces-head">
            <Heading slot="title">Pieces</Heading>
            <Button className="quiet" onPress={onClose}>
              Close
            </Button>
          </header>
          <Section name="The list of pieces">
            <div className="button-row">
              <Button className="wide" onPress={() => leaveFor(beginBlank)}>
                New piece
              </Button>
              <OpenPiece onOpen={onClose} />
            </div>
            <Button className="quiet" onPress={() => leaveFor(lookAtDemo)}>
              Look at the demo
            </Button>
            {fault && <p className="pieces-said">Not done: {fault}.</p>}
            {removed && (
              <p className="pieces-said" role="status">
                “{removed.title}” is in the bin until the page is closed.
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
                <PieceRow key={piece.id} piece={piece} onOpen={() => leaveFor(() => openKept(piece.id))} />
              ))}
              {leftovers.map((leftover) => (
                <li key={leftover.name} className="pieces-row">
                  <span className="piece-face" aria-hidden="true" />
                  <div className="piece-words">
                    <b>{leftover.title}</b>
                    <small>left by an earlier Foreburn; it cannot be read here and stays as it is</small>
                    <div className="piece-ways">
                      <Button className="quiet" onPress={() => saveLeftover(leftover)}>
                        Save as a file
                      </Button>
                    </div>
                  </div>
                </li>
              ))}
            </ul>
          </Section>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}

function PieceRow({ piece, onOpen }: { piece: Listed; onOpen: () => void }) {
  const [naming, setNaming] = useState(false);
  const held = usePiecesStore((state) => state.held.has(piece.id));
  const isHere = useKeepingStore((state) => state.id === piece.id);
  const when = new Date(piece.changedAt).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
  const where = isHere ? 'on the table' : held ? 'open in another tab' : null;
  return (
    <li className="pieces-row" aria-label={piece.title}>
      <Face piece={piece} />
      <div className="piece-words">
        {naming ? (
          <PieceName
            name={piece.title}
            onDone={(name) => {
              setNaming(false);
              if (name !== null) inBackground(renameListed(piece, name));
            }}
          />
        ) : (
          <b>{piece.title}</b>
        )}
        <small>{piece.fault ?? [when, piece.photoName, where].filter(Boolean).join(' · ')}</small>
        <div className="piece-ways">
          {piece.fault === null ? (
            <>
              <Button className="quiet" isDisabled={isHere} onPress={onOpen}>
                Open
              </Button>
              <Button className="quiet" onPress={() => inBackground(copyListed(piece))}>
                Copy
              </Button>
              <Button className="quiet" isDisabled={held && !isHere} onPress={() => setNaming(true)}>
                Rename
              </Button>
            </>
          ) : (
            <Button className="quiet" onPress={() => inBackground(saveListed(piece))}>
              Save as a file
            </Button>
          )}
          <Button className="quiet" isDisabled={held || isHere} onPress={() => inBackground(removeListed(piece))}>
            Bin
          </Button>
        </div>
      </div>
    </li>
  );
}

/** A piece's name while it is being changed. */
function PieceName({ name, onDone }: { name: string; onDone: (name: string | null) => void }) {
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => field.current?.select(), []);
  const done = (text: string) => onDone(text.trim() === '' || text === name ? null : text);
  return (
    <input
      ref={field}
      className="piece-rename"
      aria-label={`New name of ${name}`}
      type="text"
      maxLength={200}
      defaultValue={name}
      onKeyDown={(event) => {
        event.stopPropagation();
        if (event.key === 'Enter') done(event.currentTarget.value);
        if (event.key === 'Escape') onDone(null);
      }}
      onBlur={(event) => done(event.currentTarget.value)}
    />
  );
}

/** The piece as a small slab: its outline and top coat, and the photograph without its colours. */
function Face({ piece: { face } }: { piece: Listed }) {
  const picture = useSmallPhoto(face?.photo ?? null);
  if (!face) return <span className="piece-face" aria-hidden="true" />;
  const { slab, stack } = face;
  const coat = stack.coats[0]?.colorLab ?? slab.wood.colorLab;
  const round = slab.shape !== 'rectangle';
  return (
    <span className="piece-face" aria-hidden="true">
      <span
        className="piece-slab"
        style={{
          aspectRatio: `${slab.widthMm} / ${slab.heightMm}`,
          [slab.widthMm > slab.heightMm ? 'width' : 'height']: '100%',
          borderRadius: round ? '50%' : '4px',
          background: `lab(${coat.join(' ')})`,
        }}
      >
        {picture && <img src={picture} alt="" style={{ borderRadius: face.crop === 'oval' ? '50%' : '2px' }} />}
      </span>
    </span>
  );
}

const SMALL_PX = 160;

/** Small pictures of photographs that were shown before, by key. */
const smallPhotos = new Map<string, string>();

/** One photograph is decoded after the other: each may be large. */
let decoding: Promise<unknown> = Promise.resolve();

/** A kept photograph as a small picture's address; null until it is there, and where it cannot be decoded. */
function useSmallPhoto(key: string | null): string | null {
  const [address, setAddress] = useState(key === null ? null : (smallPhotos.get(key) ?? null));
  useEffect(() => {
    if (key === null || smallPhotos.has(key)) return;
    let gone = false;
    const make = async () => {
      if (gone) return;
      const bytes = photoBytes(key) ?? (await keptPhoto(await openDatabase(), key));
      const bitmap =
        bytes &&
        (await shrinkPhoto(new Blob([bytes as BlobPart]), {
          imageOrientation: 'from-image',
          resizeWidth: SMALL_PX,
          resizeQuality: 'medium',
        }));
      if (!bitmap) return;
      const canvas = document.createElement('canvas');
      canvas.width = bitmap.width;
      canvas.height = bitmap.height;
      canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
      bitmap.close();
      smallPhotos.set(key, canvas.toDataURL('image/jpeg', 0.8));
      if (!gone) setAddress(smallPhotos.get(key) ?? null);
    };
    decoding = decoding.then(make).catch(() => {});
    return () => {
      gone = true;
    };
  }, [key]);
  return address;
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

const copyListed = ({ id }: Listed): Promise<void> =>
  trying(async () => {
    await flushPiece().catch(() => {});
    await copyPiece(await openDatabase(), id);
  });

const saveListed = ({ id }: Listed): Promise<void> => trying(() => saveKeptFile(id));

/** The one on the table is renamed there, with undo. */
const renameListed = ({ id }: Listed, name: string): Promise<void> =>
  trying(async () => {
    if (id === useKeepingStore.getState().id) {
      usePieceStore.getState().change((piece) => ({ ...piece, name }));
      await flushPiece();
    } else if (!(await heldPieces([id])).has(id)) await renameKept(await openDatabase(), id, name);
  });

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
  /** Null until they have been read. */
  readonly pieces: readonly Listed[] | null;
  readonly leftovers: readonly Leftover[];
  /** Ids of those that are open in some tab. */
  readonly held: ReadonlySet<string>;
  /** The last one that was binned, as long as it can be brought back. */
  readonly removed: Removed | null;
  readonly fault: string | null;
}

/** The list of kept pieces as it was shown last; what was binned outlasts the drawer. */
const usePiecesStore = create<PiecesState>()(() => ({
  pieces: null,
  leftovers: [],
  held: new Set(),
  removed: null,
  fault: null,
}));

const setPieces = usePiecesStore.setState;
