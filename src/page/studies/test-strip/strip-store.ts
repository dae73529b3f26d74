import { create } from 'zustand';
import type { Piece } from '../../../piece/schema.ts';
import type { StripOrder } from '../../../studies/test-strip/strip-order.ts';
import type { TestStripAnswer } from '../../burn/worker/questions.ts';

/** The test strip being made or answered: kept while its section is folded away, never saved. */
interface StripState {
  /** What it tries; null until the piece has told where its picture tells most. */
  readonly order: StripOrder | null;
  readonly busy: 'burning' | 'learning' | null;
  readonly share: number;
  readonly strip: TestStripAnswer | null;
  /** Shows the strip's picture. */
  readonly pictureUrl: string | null;
  readonly askedFor: Piece | null;
  readonly askedWith: StripOrder | null;
  /** Bands as the maker saw them; 0 for none, −1 for not looked at. */
  readonly clears: number;
  readonly scorches: number;
  readonly fault: string | null;
  readonly done: string | null;
}

export const useStripStore = create<StripState>()(() => ({
  order: null,
  busy: null,
  share: 0,
  strip: null,
  pictureUrl: null,
  askedFor: null,
  askedWith: null,
  clears: -1,
  scorches: -1,
  fault: null,
  done: null,
}));
export const setStrip = useStripStore.setState;
