import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Photo } from '../../burn/prepare.ts';
import type { Piece } from '../../piece/schema.ts';
import { FEWEST_DRAWS, MOST_TIMES } from '../rescue/draws.ts';
import { patchShares } from '../rescue/patch-shares.ts';
import { createRescueScene, type RescueTools } from '../rescue/rescue-scene.ts';
import { learnFrom } from '../sure/learn.ts';
import { drawPiece } from '../sure/spread.ts';
import { effectiveCount, type Weighted } from '../sure/weighted.ts';
import { bandsOf, type StripOrder } from './strip-order.ts';
import { bandPass } from './strip-piece.ts';

/** What the maker saw of the burned strip: numbers of bands, from 1. */
export interface StripAnswer {
  /** The first band that is clear; null if none is. */
  readonly clears: number | null;
  /** The first that is scorched, null if none is; undefined if nobody looked. */
  readonly scorches?: number | null;
}

export interface StripLesson {
  /** The piece with what the strip told; the piece as it was if nothing agrees. */
  readonly piece: Piece;
  readonly agrees: boolean;
  /** How many of the draws the answer is worth. */
  readonly worth: number;
}

/** Factor by which people may judge a share wrongly, as a logarithm: they see 2 % as cleared, or 10 % as not yet. */
const JUDGEMENT = 0.5;
export const LESSON_DRAWS = 64;
const LEAST_SHARE = 1e-6;
/** Draws that agree less than this are given up. */
const NO_WEIGHT = 1e-4;

/**
 * Takes in what the maker saw: the piece is drawn as it may truly be, every draw burns the bands, and draws in which other bands clear or
 * scorch lose weight. One answer lies between two bands, so what is left open is as wide as their distance.
 * @throws RangeError for a band that the strip does not have, or an answer no strip can give; Cancelled if told to stop.
 */
export async function learnFromStrip(
  piece: Piece,
  photo: Photo,
  order: StripOrder,
  answer: StripAnswer,
  tools: RescueTools,
  onProgress: (share: number) => void = () => {},
  count = LESSON_DRAWS,
): Promise<StripLesson> {
  const bands = bandsOf(order);
  for (const number of [answer.clears, answer.scorches]) {
    if (number != null && !(number >= 1 && number <= bands.length)) {
      throw new RangeError(`the strip has the bands 1 to ${bands.length}, not ${number}`);
    }
  }
  const scene = createRescueScene(piece, photo, tools, order.crop);
  const last = piece.passes[piece.passes.length - 1];
  const before = piece.passes.slice(0, -1);
  const draws: Weighted<Piece>[] = [];
  for (let draw = 0; draw < count || (draw < MOST_TIMES * count && effectiveCount(draws) < FEWEST_DRAWS); draw++) {
    const drawn = drawPiece(piece, draw);
    let weight = 1;
    for (const [i, band] of bands.entries()) {
      if (weight < NO_WEIGHT) break;
      const passes = [...before, bandPass(last, band)].map((pass) => ({ ...pass, only: null }));
      const { uncleared, scorched } = patchShares(scene, await scene.burn({ ...drawn, passes }));
      const looksClear = likely(Math.log(CLEARED_SHARE / Math.max(LEAST_SHARE, uncleared)));
      weight *= answer.clears !== null && i + 1 >= answer.clears ? looksClear : 1 - looksClear;
      if (answer.scorches === undefined) continue;
      const looksScorched = likely(Math.log(Math.max(LEAST_SHARE, scorched) / SCORCHED_SHARE));
      weight *= answer.scorches !== null && i + 1 >= answer.scorches ? looksScorched : 1 - looksScorched;
    }
    draws.push({ value: drawn, weight });
    onProgress(Math.min(1, (draw + 1) / count));
  }
  const worth = effectiveCount(draws);
  const agrees = Math.max(...draws.map(({ weight }) => weight)) > 0.01 && worth >= FEWEST_DRAWS;
  if (!agrees) return { piece, agrees, worth };
  const learned = learnFrom(piece, draws);
  return { piece: { ...learned, certainty: { ...learned.certainty, source: 'calibrated' } }, agrees, worth };
}

const likely = (log: number): number => 1 / (1 + Math.exp(-log / JUDGEMENT));
