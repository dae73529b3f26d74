import { shiftPiece } from '../calibrate/parameters.ts';
import type { Piece } from '../piece/schema.ts';
import { createGenerator } from '../random/generator.ts';
import { correlated, lowerTriangle } from './correlated.ts';

/**
 * The piece as it may truly be: the `draw`-th of a seeded series. Draw 0 is not the piece itself. A piece that keeps the covariance of
 * what a calibration or a burn told of it is drawn from that, power from day to day besides; any other from the four spreads.
 */
export function drawPiece(piece: Piece, draw: number): Piece {
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
