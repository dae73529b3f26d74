import type { Piece } from '../piece/schema.ts';
import { createGenerator } from '../random/generator.ts';

/** The piece as it may truly be: the `draw`-th of a seeded series. Draw 0 is not the piece itself. */
export function drawPiece(piece: Piece, draw: number): Piece {
  const spread = piece.certainty;
  const random = createGenerator(0x5eed + draw);
  const factor = (deviation: number) => Math.exp(deviation * random.nextNormal());
  const power = factor(spread.power);
  const coats = piece.stack.coats.map((coat) => ({
    ...coat,
    thresholdJPerMm2: coat.thresholdJPerMm2 * factor(spread.threshold),
    specificEnergyJPerMm3: coat.specificEnergyJPerMm3 * factor(spread.specificEnergy),
    dryThicknessUm: coat.dryThicknessUm * factor(spread.thickness),
  }));
  const source = { ...piece.machine.source, fullPowerW: piece.machine.source.fullPowerW * power };
  return { ...piece, stack: { ...piece.stack, coats }, machine: { ...piece.machine, source } };
}
