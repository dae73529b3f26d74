import type { Piece } from '../../piece/schema.ts';
import { type Card, type CardPatch, powerOf } from '../../vision/card/card.ts';
import type { CardReading } from '../../vision/card/reading.ts';
import type { CardOracle } from './predict-card.ts';

/**
 * A firing floor shows as a patch that stays untouched while the one a step higher is well burned. It makes a jump that no slope tells: where there is
 * such a jump the piece comes back with its floor between the two, to be fitted and compared; a paint that clears at once looks like it.
 */
export function withFloor(
  piece: Piece,
  read: readonly { card: Card; reading: CardReading }[],
  oracle: CardOracle,
): Piece {
  const { source } = piece.machine;
  let dark = 0;
  let lit = 1;
  let jump = false;
  for (const { card, reading } of read) {
    const intact = oracle.patch(piece, {
      burns: [{ ...card.marking, lightEndPower: 0, darkEndPower: 0 }],
      warmthPerShareK: [0],
    }).lab;
    for (const { patches: ids } of card.ladders) {
      for (let i = 0; i + 1 < ids.length; i++) {
        const [low, high] = [ids[i], ids[i + 1]].map((id) => reading.patches.find((one) => one.id === id));
        const [lowPatch, highPatch] = [ids[i], ids[i + 1]].map((id) => card.patches.find((one) => one.id === id)!);
        if (!low || !high || lowPatch.burns.length > 1 || lowPatch.burns[0].screen !== 'continuous') continue;
        const power = (patch: CardPatch) => powerOf(patch.burns[0]);
        if (Math.abs(low.lab[0] - intact[0]) < 2 && high.lab[0] - intact[0] > 12) {
          jump = true;
          dark = Math.max(dark, power(lowPatch));
          lit = Math.min(lit, power(highPatch));
        }
      }
    }
  }
  if (!jump || lit <= dark) return piece;
  return { ...piece, machine: { ...piece.machine, source: { ...source, firingFloor: (dark + lit) / 2 } } };
}
