import { Cancelled } from '../../base/stop.ts';
import type { Piece } from '../../piece/schema.ts';
import { ask, forget, openPhoto } from '../burn/proof-remote.ts';
import { freshRecord, type PinnedProof, type ProofRecord, setProof, useProofStore } from '../burn/proof-store.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import { freshId } from '../files/save-file.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** Each pinned proof keeps its pictures in memory. */
const MOST_PINS = 6;

/** Keeps the current proof on the bar. */
export async function pinCurrent(): Promise<void> {
  const { current, pins } = useProofStore.getState();
  if (!current || pins.some((pin) => pin.record.id === current.id)) return;
  add({ name: nextName(pins), thumbnail: thumbnailOf(current), record: current });
}

/**
 * Puts settings on the bar that are not computed yet; they are once they are picked, or with `repeatPin`.
 * @returns the pin's id; null if the bar is full, which the maker is told.
 */
export function pinPiece(piece: Piece, photoKey: string, { name = '', thumbnail = '' } = {}): string | null {
  const record = freshRecord(freshId('kept'), piece, photoKey, 'waiting');
  return add({ name: name || nextName(useProofStore.getState().pins), thumbnail, record });
}

function add(pin: Omit<PinnedProof, 'id'>): string | null {
  if (useProofStore.getState().pins.length >= MOST_PINS) {
    setProof({ notice: `The bar holds ${MOST_PINS} proofs; take one off first.` });
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

function editPin(id: string, edit: (pin: PinnedProof) => PinnedProof): void {
  setProof((state) => ({ pins: state.pins.map((pin) => (pin.id === id ? edit(pin) : pin)) }));
}

/** An empty name changes nothing. */
export function renamePin(id: string, name: string): void {
  const text = name.trim().slice(0, 60);
  if (text) editPin(id, (pin) => ({ ...pin, name: text }));
}

/** Moves a pin so many places along the bar. */
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

/** Makes a pin's settings the piece's, in one step of undo. The piece keeps its name, its quote, its order and what was burned. */
export function goBackTo(id: string): void {
  const pin = useProofStore.getState().pins.find((one) => one.id === id);
  if (!pin) return;
  const { piece, photo, change } = usePieceStore.getState();
  const { name, log, quote, order } = piece;
  const samePhoto = photo?.key === pin.record.photoKey;
  const picture = samePhoto ? pin.record.piece.picture : piece.picture;
  change(() => ({ ...pin.record.piece, name, log, quote, order, picture }));
  if (!samePhoto) {
    setProof({
      notice: `${pin.name} was made with another photograph: the picture stays, all else is as it was then.`,
    });
  }
}

/** One after the other: each takes all that the machine has. */
let queue: Promise<void> = Promise.resolve();

const stops = new Map<string, AbortController>();

const pinOf = (id: string): PinnedProof | undefined => useProofStore.getState().pins.find((pin) => pin.id === id);

/** Makes the proof of a pin that has only its settings; does nothing for others. */
export function repeatPin(id: string): Promise<void> {
  if (pinOf(id)?.record.status !== 'waiting') return Promise.resolve();
  editRecord(id, (record) => ({ ...record, status: 'computing', fault: null }));
  queue = queue.then(() => repeat(id));
  return queue;
}

/** Gives up a pin's proof that is under way or waits for its turn. */
export function stopRepeat(id: string): void {
  stops.get(id)?.abort();
  editRecord(id, (record) => (record.status === 'computing' ? { ...record, status: 'waiting' } : record));
}

const editRecord = (id: string, edit: (record: ProofRecord) => ProofRecord) =>
  editPin(id, (pin) => ({ ...pin, record: edit(pin.record) }));

async function repeat(id: string): Promise<void> {
  const pin = pinOf(id);
  if (pin?.record.status !== 'computing') return;
  const { piece, photoKey, id: proofId } = pin.record;
  const stop = new AbortController();
  stops.set(id, stop);
  setProof({ repeating: { id, share: 0 } });
  try {
    const bytes = photoBytes(photoKey);
    if (!bytes) throw new Error('made with a photograph that is not open; open it and pick this again');
    await openPhoto(photoKey, bytes);
    const answer = await ask(
      'repeat',
      { id: proofId, piece, photoKey, bare: false },
      {
        signal: stop.signal,
        onProgress: (share, stage) => stage === 'burn' && setProof({ repeating: { id, share } }),
      },
    );
    const { width, height, pitchMm, swaths, coarse, result, diagnosis, sure } = answer;
    const { swath, ...size } = coarse;
    const shared = { id: proofId, complete: true, version: 1 };
    const quick = { ...shared, ...size, swaths: [swath] };
    const full = { ...shared, width, height, pitchMm, swaths, version: swaths.length };
    editPin(id, (now) => ({
      ...now,
      thumbnail: thumbnailOf({ coarse: quick }),
      record: { ...now.record, coarse: quick, full, result, diagnosis, sure, status: 'done' },
    }));
  } catch (error) {
    if (!(error instanceof Cancelled)) {
      setProof({
        notice: `${pin.name} could not be computed: ${error instanceof Error ? error.message : String(error)}.`,
      });
    }
    editRecord(id, (record) => ({ ...record, status: 'waiting' }));
  }
  stops.delete(id);
  setProof({ repeating: null });
}

const THUMBNAIL_PIXELS = 96;

/** Pixels of a picture in colour, RGBA8; alpha is ignored. */
interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly color: Uint8Array;
}

/** A small picture of a proof, from the quick look: it has the right size already. Empty if there is none yet. */
export const thumbnailOf = ({ coarse }: Pick<ProofRecord, 'coarse'>): string =>
  coarse ? shrink({ ...coarse, color: coarse.swaths[0].color }) : '';

/** A small picture as a data URL. */
export function shrink({ width, height, color }: Pixels): string {
  const scale = Math.min(1, THUMBNAIL_PIXELS / Math.max(width, height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const context = canvas.getContext('2d');
  if (!context) return '';
  const image = context.createImageData(canvas.width, canvas.height);
  for (let y = 0; y < canvas.height; y++) {
    for (let x = 0; x < canvas.width; x++) {
      const column = Math.min(width - 1, Math.floor(x / scale));
      const row = Math.min(height - 1, Math.floor(y / scale));
      const from = 4 * (row * width + column);
      const to = 4 * (y * canvas.width + x);
      image.data.set(color.subarray(from, from + 3), to);
      image.data[to + 3] = 255;
    }
  }
  context.putImageData(image, 0, 0);
  return canvas.toDataURL('image/png');
}
