import type { Piece } from '../../../piece/schema.ts';
import { createCardOracle } from '../../../studies/calibrate/predict-card.ts';
import type { Card } from '../../../vision/card/card.ts';
import { cardColors } from '../../../vision/card/read-photo.ts';
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
