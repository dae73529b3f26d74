import { CLEARED_RESIDUE_UM } from '../../burn/clearing.ts';
import type { Piece } from '../../piece/schema.ts';
import { evenBurn, likelyClearing } from '../../vision/card/make-card.ts';
import { type CardOracle, createCardOracle } from './predict-card.ts';

/**
 * Set power at which an even field just clears by the piece's numbers, cold and at its mean film, found by burning it; may lie beyond full power, by
 * at most four times what a rule of thumb says.
 */
export function clearingPower(piece: Piece, oracle: CardOracle = createCardOracle(piece)): number {
  const residueAt = (power: number): number =>
    oracle.patch(piece, { burns: [evenBurn(piece, power)], warmthPerShareK: [] }).residueUm;
  const likely = likelyClearing(piece);
  let [low, high] = [likely / 4, 4 * likely];
  for (let i = 0; i < 20; i++) {
    const middle = Math.sqrt(low * high);
    if (residueAt(middle) > CLEARED_RESIDUE_UM) low = middle;
    else high = middle;
  }
  return high;
}

/** For a card: the power that clears by a fit; null before there is one, when a first card had better lie low and span much. */
export const fittedClearing = (piece: Piece): number | null =>
  piece.certainty.source === 'calibrated' ? clearingPower(piece) : null;
