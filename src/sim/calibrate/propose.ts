import { type Card, CardError, type CardKind } from '../../core/calibrate/cards/card.ts';
import { CARD_WISH, type CardWish, makeCard } from '../../core/calibrate/cards/make-card.ts';
import { narrowing } from '../../core/calibrate/fit/robust-fit.ts';
import { parametersOf, shiftPiece } from '../../core/calibrate/parameters.ts';
import type { Piece } from '../../core/piece/schema.ts';
import { lowerTriangle } from '../../core/quality/correlated.ts';
import { type CardOracle, createCardOracle } from './predict-card.ts';

export interface Proposal {
  readonly kind: CardKind;
  readonly card: Card;
  /** Nats by which the card is expected to narrow what is not known: half the log of the spread's volume before over after. */
  readonly tells: number;
}

/** What of a stack decides a proof and is told by cards. */
const ASKED = /^(spotAcross|spotAlong|beamQuality|coat0\.|coat1\.scorchOnset|wood\.)/;
const KINDS: readonly CardKind[] = ['step-wedge', 'swatch', 'lines', 'second-pass'];
const LIGHTNESS_DEVIATION = 1.5;
const WIDTH_DEVIATION_MM = 0.015;

/**
 * The cards that fit on the scrap, the one that tells most first: expected narrowing of the piece's spread by the Fisher information of a reading
 * at the numbers as they are now, `½ log det(1 + LᵀIL)`. Linear: it does not know that a wrong preset puts a wedge beside its mark.
 */
export function proposeCards(piece: Piece, scrap: { readonly widthMm: number; readonly heightMm: number }): Proposal[] {
  const wish: CardWish = {
    ...CARD_WISH,
    widthMm: Math.min(Math.floor(scrap.widthMm), 120),
    heightMm: Math.min(Math.floor(scrap.heightMm), 90),
  };
  const oracle = createCardOracle(piece);
  const found = KINDS.flatMap((kind): Proposal[] => {
    try {
      const card = makeCard(kind, piece, wish);
      return [{ kind, card, tells: informationOf(piece, card, oracle) }];
    } catch (error) {
      if (error instanceof CardError) return [];
      throw error;
    }
  });
  if (found.length === 0)
    throw new CardError(`no card fits on ${scrap.widthMm} × ${scrap.heightMm} mm; take a larger piece of scrap`);
  return found.sort((a, b) => b.tells - a.tells);
}

function informationOf(piece: Piece, card: Card, oracle: CardOracle): number {
  const free = parametersOf(piece).filter(({ name }) => ASKED.test(name));
  const readings = (of: Piece): number[] => [
    ...card.patches.map((patch) => oracle.patch(of, patch).lab[0] / LIGHTNESS_DEVIATION),
    ...card.lines.map((line) => oracle.line(of, line.burn).equivalentMm / WIDTH_DEVIATION_MM),
  ];
  // Over a step as wide as the spread itself: a wedge that lies beside today's numbers may still hit the truth.
  const here = readings(piece);
  const slopes = free.map((parameter) => {
    const step = Math.max(0.01, parameter.deviation(piece));
    const up = readings(shiftPiece(piece, [parameter.name], [step]));
    return up.map((value, i) => (value - here[i]) / step);
  });
  const kept = piece.certainty.covariance;
  const prior = free.map((a, i) =>
    free.map((b, j) => {
      const [p, q] = [kept?.names.indexOf(a.name) ?? -1, kept?.names.indexOf(b.name) ?? -1];
      if (kept && p >= 0 && q >= 0) return kept.matrix[p][q];
      return i === j ? a.deviation(piece) ** 2 : 0;
    }),
  );
  return narrowing(slopes, lowerTriangle(prior));
}
