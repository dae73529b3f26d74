import { create } from 'zustand';
import type { Piece } from '../../../piece/schema.ts';
import { RESCUE_DEFAULTS, type RescueProposal, type RescueWishes } from '../../../studies/rescue/propose.ts';

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
