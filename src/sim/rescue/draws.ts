import type { Piece } from '../../core/piece/schema.ts';
import { drawPiece } from '../../core/quality/spread.ts';
import { effectiveCount, type Weighted } from '../../core/quality/weighted.ts';
import { type Outcome, outcomeOf } from './outcome.ts';
import type { RescueScene } from './rescue-scene.ts';

/** A piece that this one may truly be, with what its passes so far made of it. */
export interface Draw {
  readonly piece: Piece;
  readonly outcome: Outcome;
}

/** Draws whose outcome agrees with what was seen must be worth at least so many. */
export const FEWEST_DRAWS = 3;

/**
 * Burns pieces that this one may truly be and weighs each by how well it agrees with what was seen (importance sampling from the
 * piece's certainty). `agreement`: 0–1, 1 for all where nothing is known.
 * @throws Cancelled if told to stop.
 */
export async function weighDraws(
  scene: RescueScene,
  count: number,
  agreement: (outcome: Outcome, piece: Piece) => number,
  onDraw: (share: number) => void = () => {},
): Promise<Weighted<Draw>[]> {
  const draws: Weighted<Draw>[] = [];
  for (let draw = 0; draw < count; draw++) {
    const piece = drawPiece(scene.piece, draw);
    const outcome = outcomeOf(scene, await scene.burn(piece));
    draws.push({ value: { piece, outcome }, weight: agreement(outcome, piece) });
    onDraw((draw + 1) / count);
  }
  return draws;
}

/** False if hardly any draw agrees: then something that no draw changes must be off. */
export const anyAgrees = (draws: readonly Weighted<Draw>[]): boolean => {
  const most = Math.max(...draws.map(({ weight }) => weight));
  return most > 0.05 && effectiveCount(draws) >= FEWEST_DRAWS;
};
