import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { inBackground } from '../faults/tell-fault.ts';
import { Section } from '../fields/Section.tsx';
import { useKeeping } from '../store/keeping-store.ts';
import type { Listed } from '../store/library.ts';
import {
  closePieces,
  copyListed,
  openListed,
  removeListed,
  saveLeftover,
  saveListed,
  undoRemoval,
} from './pieces-actions.ts';
import { usePieces } from './pieces-store.ts';
import './pieces.css';

/** The pieces that this browser keeps: to open, copy, delete, or to save where they cannot be read. */
export function PiecesDialog() {
  const { pieces, leftovers, removed, fault } = usePieces();
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
  const held = usePieces((state) => state.held.has(piece.id));
  const isHere = useKeeping((state) => state.id === piece.id);
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
