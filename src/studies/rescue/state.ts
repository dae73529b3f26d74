import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Band } from '../sure/how-sure.ts';
import type { Outcome } from '../sure/outcome.ts';
import { type Weighted, weightedMean, weightedQuantile } from '../sure/weighted.ts';

/** What of the picture, in bands over the draws (`how-sure.ts`). */
export interface RescueState {
  readonly uncleared: Band;
  readonly residueUm: Band;
  readonly scorched: Band;
  /** Share of the draws that clear, and that scorch. */
  readonly clears: number;
  readonly scorches: number;
}

export function stateOf(outcomes: readonly Weighted<Outcome>[]): RescueState {
  const values = (of: (outcome: Outcome) => number) =>
    outcomes.map(({ value, weight }) => ({ value: of(value), weight }));
  const band = (of: (outcome: Outcome) => number): Band => ({
    low: weightedQuantile(values(of), 0.1),
    middle: weightedQuantile(values(of), 0.5),
    high: weightedQuantile(values(of), 0.9),
  });
  return {
    uncleared: band(({ uncleared }) => uncleared),
    residueUm: band(({ residueUm }) => residueUm),
    scorched: band(({ scorched }) => scorched),
    clears: weightedMean(values(({ uncleared }) => (uncleared < CLEARED_SHARE ? 1 : 0))),
    scorches: weightedMean(values(({ scorched }) => (scorched >= SCORCHED_SHARE ? 1 : 0))),
  };
}
