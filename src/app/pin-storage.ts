import { get, set } from 'idb-keyval';
import { parsePiece } from '../core/piece/parse.ts';
import { inBackground } from './faults/tell-fault.ts';
import { freshId } from './pins.ts';
import { type PinnedProof, type ProofRecord, setProof, useProofStore } from './stores/proof-store.ts';

const SAVED_PINS = 'foreburn-pins';
const SETTLE_MS = 400;

/** A pin without its pictures: those are computed again on demand. The piece is JSON, so that it is checked when it is read. */
interface SavedPin extends Omit<PinnedProof, 'record'> {
  readonly record: Omit<ProofRecord, 'piece' | 'coarse' | 'full'>;
  readonly piece: string;
}

const saved = ({ record, ...pin }: PinnedProof): SavedPin => {
  const { piece, coarse: _, full: __, ...kept } = record;
  return { ...pin, piece: JSON.stringify(piece), record: kept };
};

/** Puts back the pins of the last visit, and from then on saves them whenever they change. */
export async function keepPins(): Promise<void> {
  try {
    const pins = ((await get<SavedPin[]>(SAVED_PINS)) ?? []).flatMap(restored);
    if (pins.length > 0) setProof((state) => ({ pins: [...pins, ...state.pins] }));
  } catch (error) {
    setProof({ notice: `The pinned proofs of the last visit cannot be read (${(error as Error).message}).` });
  }
  let timer: ReturnType<typeof setTimeout> | undefined;
  let before = useProofStore.getState().pins;
  const save = () =>
    set(SAVED_PINS, useProofStore.getState().pins.map(saved)).catch((error: Error) =>
      setProof({ notice: `The pinned proofs could not be saved in this browser (${error.message}).` }),
    );
  useProofStore.subscribe(({ pins }) => {
    if (pins === before) return;
    before = pins;
    clearTimeout(timer);
    timer = setTimeout(() => inBackground(save()), SETTLE_MS);
  });
  // A page that is left in between loses nothing.
  addEventListener('pagehide', () => inBackground(save()));
}

/** One that cannot be read any more is left out; nothing of it could be computed. */
function restored({ piece, record, ...pin }: SavedPin): PinnedProof[] {
  try {
    const kept = { ...record, id: freshId('kept'), status: 'waiting', fault: null } as const;
    return [{ ...pin, record: { ...kept, piece: parsePiece(piece), coarse: null, full: null } }];
  } catch {
    return [];
  }
}
