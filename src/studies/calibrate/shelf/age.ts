import type { Piece } from '../../../piece/schema.ts';
import { parametersOf } from '../../sure/parameters.ts';

/** What has changed since a calibration. */
export interface Changes {
  /** Another tin of the same paint. */
  readonly batch: boolean;
  /** Lens cleaned, tube or head changed, mirrors set. */
  readonly machine: boolean;
}

/** How far a new batch's coats, and a serviced machine, may lie from the old: standard deviations of logarithms (estimates). */
const BATCH_DEVIATION = 0.1;
const MACHINE_DEVIATION = 0.1;

/**
 * A calibrated piece whose older evidence is to weigh less: the covariance grows by what may have changed, and a new fit that starts from it
 * listens to its own card all the more. Without changes the piece itself.
 */
export function ageCalibration(piece: Piece, { batch, machine }: Changes): Piece {
  const { covariance } = piece.certainty;
  if (!covariance || !(batch || machine)) return piece;
  const known = new Set(parametersOf(piece).map(({ name }) => name));
  const matrix = covariance.matrix.map((row, i) =>
    row.map((value, j) => {
      if (i !== j || !known.has(covariance.names[i])) return value;
      const ofCoat = covariance.names[i].startsWith('coat');
      const more = ofCoat ? (batch ? BATCH_DEVIATION : 0) : machine ? MACHINE_DEVIATION : 0;
      return value + more * more;
    }),
  );
  const power = machine ? Math.hypot(piece.certainty.power, MACHINE_DEVIATION) : piece.certainty.power;
  return { ...piece, certainty: { ...piece.certainty, power, covariance: { ...covariance, matrix } } };
}
