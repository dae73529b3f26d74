import { create } from 'zustand';
import { Cancelled } from '../../../base/stop.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { ProofSurface } from '../../../render/slab/surface/gpu-surface.ts';
import {
  type ChangeMap,
  RESCUE_DEFAULTS,
  type RescueProposal,
  type RescueWishes,
} from '../../../studies/rescue/propose.ts';
import { mapSurface } from '../../burn/map-surface.ts';
import { ask } from '../../burn/proof-client.ts';
import { NOW, type ProofRecord, setProof, useProofStore } from '../../burn/proof-store.ts';
import { pinCurrent } from '../../compare/pins.ts';
import { usePieceStore } from '../../store/piece-store.ts';

let under: AbortController | null = null;

/** Looks for the pass that saves the piece as it is; what was under way is given up. */
export async function findRescue(): Promise<void> {
  under?.abort();
  const own = new AbortController();
  under = own;
  const { piece, photo } = usePieceStore.getState();
  const { wishes } = useRescueStore.getState();
  setRescue({ busy: true, share: 0, proposal: null, askedFor: piece, askedWith: wishes, fault: null, done: null });
  try {
    const proposal = await ask(
      'rescue',
      { piece, photoKey: photo?.key ?? '', wishes },
      { signal: own.signal, onProgress: (share) => setRescue({ share }) },
    );
    setRescue({ proposal, busy: false });
  } catch (error) {
    if (under !== own) return;
    const fault = error instanceof Cancelled ? null : error instanceof Error ? error.message : String(error);
    setRescue({ busy: false, fault });
  }
}

export const stopRescue = (): void => under?.abort();

/** Adds the proposed pass, one step of undo; the proof before is pinned and compared with the new one. */
export async function addRescuePass(): Promise<void> {
  const { proposal, askedFor } = useRescueStore.getState();
  if (!proposal?.plan || usePieceStore.getState().piece !== askedFor) return;
  const before = useProofStore.getState().current;
  await pinCurrent();
  const saved = proposal.plan.piece;
  usePieceStore.getState().change(() => saved);
  const pin = useProofStore.getState().pins.find(({ record }) => record.id === before?.id);
  if (pin) setProof({ picked: [pin.id, NOW] });
  setRescue({
    proposal: null,
    showsChange: false,
    done: `Pass ${saved.passes.length} is added. The wipe on the slab compares before and after; undo takes it back.`,
  });
}

/** Ink of the map, linear sRGB: the page's accent. */
const INK = [0.023, 0.127, 0.216] as const;

/** Difference that is painted in full ink: nobody overlooks it. */
const FULL_CHANGE = 100;

let maps = 0;

let last: { map: ChangeMap; surface: ProofSurface } | null = null;

/** The picture as a map of what the proposed pass changes; null if that is not asked for or not known of this proof. */
export function changeSurface(record: ProofRecord, map: ChangeMap | null, askedFor: unknown): ProofSurface | null {
  if (!map || record.piece !== askedFor || !record.coarse) return null;
  if (last?.map !== map) {
    const values = map.change.map((value) => Math.min(255, (255 * value) / FULL_CHANGE));
    maps++;
    last = { map, surface: mapSurface(record, `change-${maps}`, { ...map, values }, INK) };
  }
  return last.surface;
}

/** The search for a pass that saves the piece: kept while its section is folded away, never saved. */
interface RescueState {
  readonly wishes: RescueWishes;
  readonly busy: boolean;
  /** Share done, 0–1. */
  readonly share: number;
  readonly proposal: RescueProposal | null;
  /** The piece that the proposal is for, and what was wished. */
  readonly askedFor: Piece | null;
  readonly askedWith: RescueWishes | null;
  readonly fault: string | null;
  /** The slab shows what the proposed pass changes. */
  readonly showsChange: boolean;
  /** What was done with the last proposal, for the maker. */
  readonly done: string | null;
}

export const useRescueStore = create<RescueState>()(() => ({
  wishes: RESCUE_DEFAULTS,
  busy: false,
  share: 0,
  proposal: null,
  askedFor: null,
  askedWith: null,
  fault: null,
  showsChange: false,
  done: null,
}));

export const setRescue = useRescueStore.setState;
