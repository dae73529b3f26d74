import { colorDifference, type Lab, linearRgbToLab } from '../../base/color/lab.ts';
import { luminanceOf } from '../../base/color/srgb.ts';
import { inLanes } from '../../base/in-lanes.ts';
import { breathe } from '../../base/stop.ts';
import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Photo } from '../../burn/prepare.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import { intactRgb } from '../../physics/material/appearance.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { type Outcome, outcomeOf } from '../sure/judge.ts';
import { createSample } from '../sure/sample.ts';
import { drawPiece, effectiveCount, type Weighted, weightedMean, weightedQuantile } from '../sure/spread.ts';
import type { RescueTools } from './rescue-scene.ts';

/** An outcome with what a maker sees of it. */
export interface Seen extends Outcome {
  /** How far the light areas have come from the unburned stack to what they are when all of the coat is gone there, 0–1. */
  readonly way: number;
}

/** The picture's own dots under the passes that are burned and a further one, for the judge's answers on pieces that look as the maker says. */
export interface RescueSample {
  readonly piece: Piece;
  /** The piece with the passes so far, or with one more whose dots are those of the sample. @throws Cancelled if told to stop. */
  outcome(piece: Piece): Promise<Seen>;
  /** Outcomes worth having under way at once. */
  readonly lanes: number;
}

/** Powers over those of the piece, close together; at the one that comes out lightest the coat is gone and nothing is scorched yet. */
const AMPLE = Array.from({ length: 16 }, (_, i) => 0.4 * 1.13 ** i);

/** Squares are fewer than for a verdict: a search burns them a thousand times. */
const TILES = 96;

/**
 * @param further the pass whose tones, mask and rows the further pass has
 * @param tiles squares of the sample
 * @throws Cancelled if told to stop.
 */
export async function createRescueSample(
  piece: Piece,
  further: Pass,
  photo: Photo,
  tools: RescueTools,
  tiles = TILES,
): Promise<RescueSample> {
  const both = { ...piece, passes: [...piece.passes, further] };
  const ready = await tools.ready(both, photo);
  const sample = createSample(both, ready, tools.runner, tiles);
  const even = sample.layout.places.map(() => 1);
  const ample = AMPLE.map((more) => piece.passes.map(({ lightEndPower }) => Math.min(1, more * lightEndPower)));
  // More than full power there is not.
  const powers = ample.filter((own, i) => i === 0 || own.some((power, pass) => power !== ample[i - 1][pass]));
  const tried = await inLanes(powers.length, tools.runner.lanes, async (i) => {
    const passes = piece.passes.map((pass, k) => ({ ...pass, lightEndPower: powers[i][k] }));
    return outcomeOf(sample, await sample.burn({ ...piece, passes }, even));
  });
  const clear = tried.reduce((a, b) => (b.lightL > a.lightL ? b : a));
  const intactL = 100 * luminanceToLightness(luminanceOf(intactRgb(ready.appearance, piece.stack)));
  return {
    piece,
    lanes: tools.runner.lanes,
    async outcome(other) {
      await breathe(tools.signal);
      const outcome = outcomeOf(sample, await sample.burn(other));
      return {
        ...outcome,
        way: (outcome.lightL - intactL) / Math.max(1, clear.lightL - intactL),
        // What varies on a clear piece too is the picture's own texture.
        blotch: Math.sqrt(Math.max(0, outcome.blotch ** 2 - clear.blotch ** 2)),
      };
    },
  };
}

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
  return inLanes(draws.length, sample.lanes, async (i) => {
    const { value, weight } = draws[i];
    return { value: { before: value.outcome, after: await sample.outcome(withPass(value.piece, pass)) }, weight };
  });
}

const meanOf = (outcomes: TriedPower['outcomes'], of: (after: Seen) => number): number =>
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

/** A piece that this one may truly be, with what its passes so far made of it. */
export interface Draw {
  readonly piece: Piece;
  readonly outcome: Seen;
}

/** Draws whose outcome agrees with what was seen must be worth at least so many. */
export const FEWEST_DRAWS = 3;

/** So many times as many draws at most. */
export const MOST_TIMES = 4;

/**
 * Burns pieces that this one may truly be and weighs each by how well it agrees with what was seen (importance sampling from the
 * piece's certainty). `agreement`: 0–1, 1 for all where nothing is known.
 * @throws Cancelled if told to stop.
 */
export async function weighDraws(
  sample: RescueSample,
  count: number,
  agreement: (outcome: Seen, piece: Piece) => number,
  onDraw: (share: number) => void = () => {},
): Promise<Weighted<Draw>[]> {
  const weigh = async (draw: number): Promise<Weighted<Draw>> => {
    const piece = drawPiece(sample.piece, draw);
    const outcome = await sample.outcome(piece);
    onDraw(Math.min(1, (draw + 1) / count));
    return { value: { piece, outcome }, weight: agreement(outcome, piece) };
  };
  const draws = await inLanes(count, sample.lanes, weigh);
  // What was seen may be rare: then more pieces are drawn until enough look like it.
  while (draws.length < MOST_TIMES * count && !anyAgrees(draws)) draws.push(await weigh(draws.length));
  return draws;
}

/** False if hardly any draw agrees: then something that no draw changes must be off. */
export const anyAgrees = (draws: readonly Weighted<Draw>[]): boolean => {
  const most = Math.max(...draws.map(({ weight }) => weight));
  return most > 0.05 && effectiveCount(draws) >= FEWEST_DRAWS;
};
