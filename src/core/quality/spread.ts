import type { Piece } from '../piece/schema.ts';
import { createGenerator } from '../random/generator.ts';

/** How far the truth may lie from a piece's numbers: standard deviations of their natural logarithms. */
export interface Spread {
  readonly threshold: number;
  readonly specificEnergy: number;
  readonly thickness: number;
  readonly power: number;
}

/**
 * Spread of the uncalibrated presets (estimates; calibrate): published specific energies of paint alone lie between 1.5 and 12.7
 * J/mm³ (see DEVELOPERS.md), but the defaults are anchored at common practice, so most of that is excluded.
 */
export const PRESET_SPREAD: Spread = { threshold: 0.2, specificEnergy: 0.2, thickness: 0.12, power: 0.05 };

/** The piece as it may truly be: the `draw`-th of a seeded series. Draw 0 is not the piece itself. */
export function drawPiece(piece: Piece, spread: Spread, draw: number): Piece {
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
