import type { Piece } from '../../piece/schema.ts';
import type { Card } from '../../vision/card/card.ts';
import { type CardReading, ReadingError } from '../../vision/card/reading.ts';
import { drawPiece } from '../sure/spread.ts';
import { checkRange, checkReading } from './check-reading.ts';
import { FIT_OPTIONS, robustFit } from './fit/robust-fit.ts';
import { createCardOracle } from './predict-card.ts';
import { firstPower } from './propose.ts';

export interface Drift {
  /** Power that now arrives over the power when the shelf entry was made, and ends of nine tenths. */
  readonly factor: number;
  readonly low: number;
  readonly high: number;
  /** Whether nine tenths leave out no change at all. */
  readonly sure: boolean;
  readonly words: string;
}

/** A lens gets dirty and a tube ages within this, standard deviation of the logarithm (estimate). */
const LIKELY = 0.3;
const LAW_DEVIATION = 0.7;
/** Pieces drawn from the calibration's own spread. */
const DRAWS = 8;

/**
 * What a check strip says of a calibrated machine: all its numbers stay but one factor on power. Its interval holds what the strip does not tell
 * and what the calibration itself did not know.
 * @throws ReadingError if the reading is of another card or tells nothing.
 */
export function readDrift(piece: Piece, card: Card, reading: CardReading): Drift {
  checkReading(card, reading);
  checkRange([{ card, reading }]);
  if (reading.patches.length + reading.firsts.length === 0)
    throw new ReadingError('the check strip was not read: no patch is named');
  const oracle = createCardOracle(piece);
  const fitOf = (of: Piece) =>
    robustFit(
      {
        residuals: (at) => {
          const { source } = of.machine;
          const now = {
            ...of,
            machine: { ...of.machine, source: { ...source, fullPowerW: source.fullPowerW * Math.exp(at[0]) } },
          };
          const patches = reading.patches.flatMap(({ id, lab, deviation }) => {
            const seen = oracle.patch(now, card.patches.find((patch) => patch.id === id)!).lab;
            return [0, 2].map((k) => (lab[k] - seen[k]) / Math.hypot(deviation, LAW_DEVIATION));
          });
          const firsts = reading.firsts.map(({ what, patch: id, lowPower, highPower }) => {
            const patch = card.patches.find((one) => one.id === id)!;
            const low = Math.max(lowPower, 0.5 * highPower);
            const deviation = Math.hypot(Math.log(highPower / low) / Math.sqrt(12), 0.02);
            return (
              ((Math.log(low) + Math.log(highPower)) / 2 - Math.log(firstPower(now, what, patch, oracle))) / deviation
            );
          });
          return Float64Array.from([...patches, ...firsts]);
        },
        priorLower: [[LIKELY]],
        priorMean: new Float64Array(1),
      },
      FIT_OPTIONS,
    );
  const best = fitOf(piece);
  // The shelf's numbers go together so that the card they came from comes out right: their own spread counts as far as this strip feels it.
  const drawn = Array.from({ length: DRAWS }, (_, draw) => {
    const other = drawPiece({ ...piece, certainty: { ...piece.certainty, power: 0 } }, draw);
    return fitOf(other).at[0] - best.at[0];
  });
  const between = drawn.reduce((sum, value) => sum + value * value, 0) / DRAWS;
  const deviation = Math.sqrt(best.covariance[0][0] + between);
  const [low, high] = [-1.645, 1.645].map((z) => Math.exp(best.at[0] + z * deviation));
  const factor = Math.exp(best.at[0]);
  const sure = low > 1 || high < 1;
  return { factor, low, high, sure, words: wordsOf(factor, high - low, sure) };
}

function wordsOf(factor: number, width: number, sure: boolean): string {
  const percent = (share: number) => `${(100 * share).toFixed(share < 0.095 ? 1 : 0)} %`;
  const margin = percent(width / 2);
  if (!sure)
    return `The shelf entry still holds: power has changed by no more than ${percent(Math.abs(factor - 1) + width / 2)}.`;
  return factor < 1
    ? `${percent(1 - factor)} ± ${margin} less power arrives than when this was calibrated: clean the lens, check the focus; a tube may have aged.`
    : `${percent(factor - 1)} ± ${margin} more power arrives than when this was calibrated: was the lens cleaned, or the focus set?`;
}
