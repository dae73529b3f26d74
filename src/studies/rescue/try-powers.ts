import { colorDifference, type Lab, linearRgbToLab } from '../../base/color/lab.ts';
import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { type Weighted, weightedMean, weightedQuantile } from '../sure/weighted.ts';
import type { Draw } from './draws.ts';
import type { RescueSample, Seen } from './rescue-sample.ts';

/** What one power of a further pass does to every draw. */
export interface TriedPower {
  /** Share of full power at the light end. */
  readonly power: number;
  readonly outcomes: readonly Weighted<{ before: Seen; after: Seen }>[];
}

export const withPass = (piece: Piece, pass: Pass): Piece => ({ ...piece, passes: [...piece.passes, pass] });

/** Burns a further pass on what the passes so far left of each draw. @throws Cancelled if told to stop. */
export async function tryPass(
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  pass: Pass,
): Promise<TriedPower['outcomes']> {
  const outcomes = [];
  for (const { value, weight } of draws) {
    const after = await sample.outcome(withPass(value.piece, pass));
    outcomes.push({ value: { before: value.outcome, after }, weight });
  }
  return outcomes;
}

export const meanOf = (outcomes: TriedPower['outcomes'], of: (after: Seen) => number): number =>
  weightedMean(outcomes.map(({ value, weight }) => ({ value: of(value.after), weight })));

/** Share of the draws that clear, and that stay unscorched. */
export const clearOdds = (outcomes: TriedPower['outcomes']): number =>
  meanOf(outcomes, ({ uncleared }) => (uncleared < CLEARED_SHARE ? 1 : 0));
export const unscorchedOdds = (outcomes: TriedPower['outcomes']): number =>
  meanOf(outcomes, ({ scorched }) => (scorched < SCORCHED_SHARE ? 1 : 0));

/** Share of the way to clear from which a maker who called a piece dark no longer does (estimate). */
const LOOKS_CLEAR = 0.97;

/** Share of the draws that come out well: clear, by the eye too where that is `asked`, and not scorched unless they were before. */
export const savedOdds = (outcomes: TriedPower['outcomes'], asked = false): number =>
  weightedMean(
    outcomes.map(({ value: { before, after }, weight }) => {
      const spared = after.scorched < SCORCHED_SHARE || before.scorched >= SCORCHED_SHARE;
      const clear = after.uncleared < CLEARED_SHARE && (!asked || after.way >= LOOKS_CLEAR);
      return { value: clear && spared ? 1 : 0, weight };
    }),
  );

/** Colour difference ΔE00 that the pass makes on average over the light or the dark areas, at a share of the draws; 0 without such areas. */
export function changeAt(outcomes: TriedPower['outcomes'], where: 'lightRgb' | 'darkRgb', share: number): number {
  return weightedQuantile(
    outcomes.map(({ value: { before, after }, weight }) => {
      const [from, to] = [before[where], after[where]];
      return { value: from && to ? colorDifference(labOf(from), labOf(to)) : 0, weight };
    }),
    share,
  );
}

/** By how much L* the middle tones rise, in the middle one of the draws; null without such tones. */
export function middleRise(outcomes: TriedPower['outcomes']): number | null {
  const rises = outcomes.flatMap(({ value: { before, after }, weight }) =>
    before.middleL === null || after.middleL === null ? [] : [{ value: after.middleL - before.middleL, weight }],
  );
  return rises.length > 0 ? weightedQuantile(rises, 0.5) : null;
}

const labOf = ([r, g, b]: readonly number[]): Lab => linearRgbToLab([r, g, b]);
