import { create } from 'zustand';
import type { Piece } from '../../../piece/schema.ts';
import { EVEN_WISHES, type Wishes } from '../../../studies/choose/outcome.ts';
import type { ChooseResult } from '../../../studies/choose/suggestion.ts';

/** The search for settings: kept while its section is folded away, never saved. */
interface ChooseState {
  readonly wishes: Wishes;
  readonly busy: boolean;
  /** Share done, 0–1, with what is being done. */
  readonly share: number;
  readonly stage: string;
  /** Suggestions so far, and the piece they are for. */
  readonly result: ChooseResult | null;
  readonly askedFor: Piece | null;
  readonly fault: string | null;
}

export const useChooseStore = create<ChooseState>()(() => ({
  wishes: EVEN_WISHES,
  busy: false,
  share: 0,
  stage: '',
  result: null,
  askedFor: null,
  fault: null,
}));
export const setChoose = useChooseStore.setState;
