import { Matrix, solve } from 'ml-matrix';
import type { TileLuminance } from './burned-luminance.ts';

/** Tiles further from the fitted light than so many standard deviations are left out of the next fit. */
const OUTLIER = 2.5;
const ROUNDS = 3;
const FEWEST = 12;

/**
 * The light that falls on each tile, over its mean: a quadratic surface fitted to the logarithm of tiles that have all the same colour
 * (`same`), outliers left out. 1 everywhere if there are too few of them.
 */
export function lightOverTiles(
  { columns, rows, luminance }: TileLuminance,
  same: (tile: number) => boolean,
): Float32Array {
  const terms = (tile: number): number[] => {
    const x = (2 * ((tile % columns) + 0.5)) / columns - 1;
    const y = (2 * (Math.floor(tile / columns) + 0.5)) / rows - 1;
    return [1, x, y, x * x, x * y, y * y];
  };
  let used: number[] = [];
  for (let tile = 0; tile < luminance.length; tile++) if (luminance[tile] > 0 && same(tile)) used.push(tile);
  const light = new Float32Array(luminance.length).fill(1);
  if (used.length < FEWEST) return light;
  let factors: number[] = [];
  const fitted = (tile: number) => terms(tile).reduce((sum, term, k) => sum + term * factors[k], 0);
  for (let round = 0; round < ROUNDS; round++) {
    const target = Matrix.columnVector(used.map((tile) => Math.log(luminance[tile])));
    factors = solve(new Matrix(used.map(terms)), target, true).to1DArray();
    const misses = used.map((tile) => Math.log(luminance[tile]) - fitted(tile));
    const deviation = Math.sqrt(misses.reduce((sum, miss) => sum + miss * miss, 0) / misses.length);
    const kept = used.filter((_, i) => Math.abs(misses[i]) <= OUTLIER * deviation + 1e-9);
    if (kept.length < FEWEST) break;
    used = kept;
  }
  const mean = used.reduce((sum, tile) => sum + fitted(tile), 0) / used.length;
  return light.map((_, tile) => Math.exp(fitted(tile) - mean));
}
