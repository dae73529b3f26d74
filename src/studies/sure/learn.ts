import type { Certainty, Piece } from '../../piece/schema.ts';
import { parametersOf, shiftPiece } from './parameters.ts';
import { effectiveCount, type Weighted, weightedMean } from './weighted.ts';

/** Logarithms that differ less than this from draw to draw are not drawn at all. */
const SAME = 1e-9;

/**
 * The piece with the numbers that weighted draws of it (`spread.ts`) speak for, and with what they leave open: the weighted mean and
 * covariance of the numbers' logarithms, widened by n / (n − 1) for n effective draws. A burn tells the sum a pass pays and little of
 * its parts, so it is their covariance that shrinks.
 *
 * Watts and thickness stay as the maker gave them: what the draws say of those goes into thresholds and specific energies.
 */
export function learnFrom(piece: Piece, draws: readonly Weighted<Piece>[]): Piece {
  if (piece.stack.coats.length === 0 || draws.length === 0) return piece;
  const logs = draws.map(({ value, weight }) => ({ value: logsOf(piece, value), weight }));
  const all = parametersOf(piece).map(({ name }) => name);
  const drawn = all.filter((_, i) => logs.some(({ value }) => Math.abs(value[i] - logs[0].value[i]) > SAME));
  if (drawn.length === 0) return piece;
  const at = drawn.map((name) => all.indexOf(name));
  const means = at.map((i) => weightedMean(logs.map(({ value, weight }) => ({ value: value[i], weight }))));
  const count = effectiveCount(draws);
  const wider = count > 1 ? count / (count - 1) : 1;
  const covariance = (i: number, j: number) =>
    wider *
    weightedMean(
      logs.map(({ value, weight }) => ({
        value: (value[at[i]] - means[i]) * (value[at[j]] - means[j]),
        weight,
      })),
    );
  const matrix = drawn.map((_, i) => drawn.map((__, j) => covariance(Math.min(i, j), Math.max(i, j))));
  const certainty: Certainty = { ...piece.certainty, covariance: { names: drawn, matrix } };
  return { ...shiftPiece(piece, drawn, withGivenThickness(drawn, means)), certainty };
}

/**
 * Natural logarithms of a draw's numbers over the piece's. A draw with more watts is one whose coats take less energy: the doses at
 * which coats go are told over the watts.
 */
function logsOf(piece: Piece, drawn: Piece): number[] {
  const power = Math.log(drawn.machine.source.fullPowerW / piece.machine.source.fullPowerW);
  const values = new Map(parametersOf(drawn).map((parameter) => [parameter.name, parameter.get(drawn)]));
  return parametersOf(piece).map((parameter) => {
    const value = Math.log((values.get(parameter.name) ?? parameter.get(piece)) / parameter.get(piece));
    return /threshold|specificEnergy/.test(parameter.name) ? value - power : value;
  });
}

/** Shifts of thickness handed to the specific energy of the same coat. */
function withGivenThickness(names: readonly string[], shifts: readonly number[]): number[] {
  return names.map((name, i) => {
    const [coat, what] = name.split('.');
    if (what === 'thickness') return 0;
    const thickness = what === 'specificEnergy' ? names.indexOf(`${coat}.thickness`) : -1;
    return thickness < 0 ? shifts[i] : shifts[i] + shifts[thickness];
  });
}
