import type { Piece } from '../../piece/schema.ts';
import { forget } from '../burn/proof-client.ts';
import { type PinnedProof, type ProofRecord, setProof, useProofStore } from '../burn/proof-store.ts';
import { freshId } from '../files/fresh-id.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { thumbnailOf } from './pin-thumbnail.ts';

/** Each pinned proof keeps its pictures in memory. */
export const MOST_PINS = 6;

/** Keeps the current proof on the strip. */
export async function pinCurrent(): Promise<void> {
  const { current, pins } = useProofStore.getState();
  if (!current || pins.some((pin) => pin.record.id === current.id)) return;
  add({ name: nextName(pins), thumbnail: thumbnailOf(current), record: current });
}

/**
 * Puts settings on the strip that are not computed yet; they are once they are picked, or with `repeatPin`.
 * @returns the pin's id; null if the strip is full, which the maker is told.
 */
export function pinPiece(piece: Piece, photoKey: string, { name = '', thumbnail = '' } = {}): string | null {
  const record: ProofRecord = {
    id: freshId('kept'),
    piece,
    photoKey,
    coarse: null,
    full: null,
    result: null,
    sure: null,
    diagnosis: null,
    status: 'waiting',
    fault: null,
  };
  return add({ name: name || nextName(useProofStore.getState().pins), thumbnail, record });
}

function add(pin: Omit<PinnedProof, 'id'>): string | null {
  if (useProofStore.getState().pins.length >= MOST_PINS) {
    setProof({ notice: `The strip holds ${MOST_PINS} proofs; take one off first.` });
    return null;
  }
  const id = freshId('pin');
  setProof((state) => ({ pins: [...state.pins, { id, ...pin }] }));
  return id;
}

/** The first of "Proof 1", "Proof 2" … that no pin is called by. */
function nextName(pins: readonly PinnedProof[]): string {
  let number = pins.length + 1;
  while (pins.some(({ name }) => name === `Proof ${number}`)) number++;
  return `Proof ${number}`;
}

export function editPin(id: string, edit: (pin: PinnedProof) => PinnedProof): void {
  setProof((state) => ({ pins: state.pins.map((pin) => (pin.id === id ? edit(pin) : pin)) }));
}

/** An empty name changes nothing. */
export function renamePin(id: string, name: string): void {
  const text = name.trim().slice(0, 60);
  if (text) editPin(id, (pin) => ({ ...pin, name: text }));
}

/** Moves a pin so many places along the strip. */
export function movePin(id: string, by: number): void {
  setProof(({ pins }) => {
    const from = pins.findIndex((pin) => pin.id === id);
    const to = Math.min(pins.length - 1, Math.max(0, from + by));
    if (from < 0 || from === to) return {};
    const moved = [...pins];
    moved.splice(to, 0, ...moved.splice(from, 1));
    return { pins: moved };
  });
}

export function unpin(id: string): void {
  const { pins, current } = useProofStore.getState();
  const pin = pins.find((one) => one.id === id);
  setProof((state) => ({
    pins: state.pins.filter((one) => one.id !== id),
    picked: state.picked.filter((one) => one !== id),
  }));
  if (pin && pin.record.id !== current?.id) forget(pin.record.id);
}

/** Makes a pin's settings the piece's, in one step of undo. The piece keeps its name, its quote and what was burned. */
export function goBackTo(id: string): void {
  const pin = useProofStore.getState().pins.find((one) => one.id === id);
  if (!pin) return;
  const { piece, photo, change } = usePieceStore.getState();
  const { name, log, quote } = piece;
  const samePhoto = photo?.key === pin.record.photoKey;
  const picture = samePhoto ? pin.record.piece.picture : piece.picture;
  change(() => ({ ...pin.record.piece, name, log, quote, picture }));
  if (!samePhoto) {
    setProof({
      notice: `${pin.name} was made with another photograph: the picture stays, all else is as it was then.`,
    });
  }
}
