import type { Card } from '../../core/calibrate/cards/card.ts';
import { cardColors } from '../../core/calibrate/read/read-photo.ts';
import type { Piece } from '../../core/piece/schema.ts';
import { createCardOracle } from '../../sim/calibrate/predict-card.ts';
import type { CardLooks } from './messages.ts';

/** What a card is expected to come out as by a piece's numbers. */
export function cardLooks(piece: Piece, card: Card): CardLooks {
  const oracle = createCardOracle(piece);
  const { paint, bare } = cardColors(piece);
  const marks = oracle.patch(piece, { burns: [card.marking], warmthPerShareK: [0] }).lab;
  return {
    paint,
    bare,
    marks,
    patches: Object.fromEntries(card.patches.map((patch) => [patch.id, oracle.patch(piece, patch).lab])),
    lines: Object.fromEntries(card.lines.map(({ id, burn }) => [id, oracle.line(piece, burn)])),
  };
}
