import { createGenerator } from '../../base/random/generator.ts';
import { DEFAULT_APPLICATIONS } from '../../piece/defaults.ts';
import type { Piece } from '../../piece/schema.ts';
import { correlated, lowerTriangle } from './correlated.ts';
import { shiftPiece } from './parameters.ts';

/**
 * The piece as it may truly be: the `draw`-th of a seeded series, with a film that may lie there. Draw 0 is not the piece
 * itself. A piece that keeps the covariance of what a calibration or a burn told of it is drawn from that, power from day to day besides;
 * any other from the four spreads.
 */
export function drawPiece(piece: Piece, draw: number): Piece {
  return drawNumbers(withDrawnFilm(piece, draw), draw);
}

/** Of a film that was measured so much of the slow unevenness is left unknown (estimate). */
const LEFT_UNKNOWN = 0.35;

/** The piece with one of the films that may lie there instead of the mean one; where a film was measured only what that left open varies. */
export function withDrawnFilm(piece: Piece, draw: number): Piece {
  const { stack } = piece;
  // Measured against the drawn film of an earlier version: that one lies there.
  if (stack.film.found && stack.film.shown === 'drawn') return piece;
  const seed = (stack.film.seed + 15485863 * (draw + 1)) >>> 0;
  const film: Piece['stack']['film'] = { ...stack.film, shown: 'drawn', seed };
  if (!film.found) return { ...piece, stack: { ...stack, film } };
  const coats = stack.coats.map((coat, i) =>
    i > 0
      ? coat
      : { ...coat, slowVariation: LEFT_UNKNOWN * coat.slowVariation, application: DEFAULT_APPLICATIONS.even },
  );
  return { ...piece, stack: { ...stack, film, coats } };
}

function drawNumbers(piece: Piece, draw: number): Piece {
  const spread = piece.certainty;
  const random = createGenerator(0x5eed + draw);
  const factor = (deviation: number) => Math.exp(deviation * random.nextNormal());
  const power = factor(spread.power);
  const source = { ...piece.machine.source, fullPowerW: piece.machine.source.fullPowerW * power };
  const powered = { ...piece, machine: { ...piece.machine, source } };
  if (spread.covariance) {
    const { names, matrix } = spread.covariance;
    const normals = names.map(() => random.nextNormal());
    return shiftPiece(powered, names, correlated(lowerTriangle(matrix), normals));
  }
  const coats = piece.stack.coats.map((coat) => ({
    ...coat,
    thresholdJPerMm2: coat.thresholdJPerMm2 * factor(spread.threshold),
    specificEnergyJPerMm3: coat.specificEnergyJPerMm3 * factor(spread.specificEnergy),
    dryThicknessUm: coat.dryThicknessUm * factor(spread.thickness),
  }));
  return { ...powered, stack: { ...piece.stack, coats } };
}
