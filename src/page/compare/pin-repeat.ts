import { Cancelled } from '../../base/cancelled.ts';
import { ask, openPhoto } from '../burn/proof-client.ts';
import { type PinnedProof, type ProofRecord, setProof, useProofStore } from '../burn/proof-store.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import { thumbnailOf } from './pin-thumbnail.ts';
import { editPin } from './pins.ts';

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
      'again',
      { id: proofId, piece, photoKey },
      {
        signal: stop.signal,
        onProgress: (share, stage) => stage === 'burn' && setProof({ repeating: { id, share } }),
      },
    );
    const { width, height, pitchMm, strips, coarse, result, diagnosis, sure } = answer;
    const { strip, ...size } = coarse;
    const shared = { id: proofId, complete: true, version: 1 };
    const quick = { ...shared, ...size, strips: [strip] };
    const full = { ...shared, width, height, pitchMm, strips, version: strips.length };
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
