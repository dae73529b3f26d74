import type { Pass, Piece } from '../../piece/schema.ts';
import { shiftPiece } from '../sure/parameters.ts';
import { clearingWatts, columnOf } from './column.ts';

/**
 * In which direction the piece's unknown numbers must be off for it to be harder to clear: shifts of their logarithms that go with one
 * standard deviation of the watts needed over those that come.
 */
export interface Hardness {
  /** Standard deviation of the logarithm of the watts needed over those that come. */
  readonly deviation: number;
  readonly names: readonly string[];
  readonly shifts: readonly number[];
  readonly powerShift: number;
}

const STEP = 0.02;

/**
 * First-order reliability: the slopes of ln(watts) at the piece as it is, and its own spread (`certainty`), give the likeliest way to be
 * so much harder: the design point of Hasofer and Lind, J. Eng. Mech. Div. ASCE 100, 1974 (value from memory).
 */
export function hardnessOf(piece: Piece, pass: Pass, warmthK: number): Hardness {
  const { names, matrix } = spreadOf(piece);
  const slopes = names.map((name) => {
    const at = (by: number) => {
      return clearingWatts(columnOf(shiftPiece(piece, [name], [by]), pass, 1, warmthK));
    };
    return Math.log(at(STEP) / at(-STEP)) / (2 * STEP);
  });
  const { power } = piece.certainty;
  const along = matrix.map((row) => row.reduce((sum, value, k) => sum + value * slopes[k], 0));
  const variance = slopes.reduce((sum, slope, i) => sum + slope * along[i], power * power);
  const deviation = Math.sqrt(Math.max(0, variance));
  const per = deviation > 0 ? 1 / deviation : 0;
  return { deviation, names, shifts: along.map((value) => value * per), powerShift: -power * power * per };
}

/** What is not known of the topmost coat, as a covariance of logarithms. */
function spreadOf(piece: Piece): { names: readonly string[]; matrix: readonly (readonly number[])[] } {
  const { covariance, threshold, specificEnergy, thickness } = piece.certainty;
  if (piece.stack.coats.length === 0) return { names: [], matrix: [] };
  if (covariance) return covariance;
  const deviations = [threshold, specificEnergy, thickness];
  return {
    names: ['coat0.threshold', 'coat0.specificEnergy', 'coat0.thickness'],
    matrix: deviations.map((one, i) => deviations.map((_, k) => (i === k ? one * one : 0))),
  };
}

/** The likeliest of all pieces that are `z` standard deviations harder to clear than thought; below 0 easier, so that they scorch sooner. */
export function hardPiece(piece: Piece, { names, shifts, powerShift }: Hardness, z: number): Piece {
  const shifted = shiftPiece(
    piece,
    names,
    shifts.map((shift) => z * shift),
  );
  const { machine } = shifted;
  const fullPowerW = machine.source.fullPowerW * Math.exp(z * powerShift);
  return { ...shifted, machine: { ...machine, source: { ...machine.source, fullPowerW } } };
}
