import type { Piece } from '../../piece/schema.ts';
import { drawPiece } from '../sure/spread.ts';
import { effectiveCount, type Weighted } from '../sure/weighted.ts';
import type { RescueSample, Seen } from './rescue-sample.ts';

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
  const draws: Weighted<Draw>[] = [];
  // What was seen may be rare: then more pieces are drawn until enough look like it.
  for (let draw = 0; draw < count || (draw < MOST_TIMES * count && !anyAgrees(draws)); draw++) {
    const piece = drawPiece(sample.piece, draw);
    const outcome = await sample.outcome(piece);
    draws.push({ value: { piece, outcome }, weight: agreement(outcome, piece) });
    onDraw(Math.min(1, (draw + 1) / count));
  }
  return draws;
}

/** False if hardly any draw agrees: then something that no draw changes must be off. */
export const anyAgrees = (draws: readonly Weighted<Draw>[]): boolean => {
  const most = Math.max(...draws.map(({ weight }) => weight));
  return most > 0.05 && effectiveCount(draws) >= FEWEST_DRAWS;
};
