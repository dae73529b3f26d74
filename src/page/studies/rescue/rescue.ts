import { create } from 'zustand';
import type { Piece } from '../../../piece/schema.ts';
import type { ProofSurface } from '../../../render/slab/surface/gpu-surface.ts';
import {
  type ChangeMap,
  RESCUE_DEFAULTS,
  type RescueProposal,
  type RescueWishes,
} from '../../../studies/rescue/propose.ts';
import { mapSurface } from '../../burn/map-surface.ts';
import { ask } from '../../burn/proof-remote.ts';
import { NOW, type ProofRecord, setProof, useProofStore } from '../../burn/proof-store.ts';
import { pinCurrent } from '../../compare/pins.ts';
import { createTask } from '../../remote/task.ts';
import { usePieceStore } from '../../store/piece-store.ts';

export const rescuing = createTask();

const SEARCH_WORDS = 'computing pieces that look like yours';

/** Looks for the pass that saves the piece as it is. */
export async function findRescue(): Promise<void> {
  const { piece, photo } = usePieceStore.getState();
  const { wishes } = useRescueStore.getState();
  setRescue({ proposal: null, askedFor: piece, askedWith: wishes });
  const proposal = await rescuing.run(SEARCH_WORDS, ({ signal, onProgress, goOn }) =>
    ask(
      'rescue',
      { piece, photoKey: photo?.key ?? '', wishes },
      {
        signal,
        onProgress: (share) => {
          onProgress(share);
          if (share >= 0.3) goOn('trying passes on them');
        },
      },
    ),
  );
  if (proposal) setRescue({ proposal });
}

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
  setRescue({ proposal: null, showsChange: false });
  rescuing.tell({
    said: `Pass ${saved.passes.length} is added. The wipe on the slab compares before and after; undo takes it back.`,
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
  readonly proposal: RescueProposal | null;
  /** The piece that the proposal is for, and what was wished. */
  readonly askedFor: Piece | null;
  readonly askedWith: RescueWishes | null;
  /** The slab shows what the proposed pass changes. */
  readonly showsChange: boolean;
}

export const useRescueStore = create<RescueState>()(() => ({
  wishes: RESCUE_DEFAULTS,
  proposal: null,
  askedFor: null,
  askedWith: null,
  showsChange: false,
}));

export const setRescue = useRescueStore.setState;
