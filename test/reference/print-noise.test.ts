import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { TILE_MM } from '../../src/studies/diagnose/tally.ts';
import { printNoise, TILE_SAMPLES } from '../helpers/print-noise.ts';

/**
 * Synthetic fields whose values follow from the definitions of ISO 13660:2001 (definitions from memory, the standard's text was not at hand;
 * their arithmetic agrees with its 600 dpi and 0.4 cycles/mm): exact but for float32.
 */
const PITCH = TILE_MM / TILE_SAMPLES;
const SIDE = 10 * TILE_SAMPLES;
const field = (at: (x: number, y: number) => number, side = SIDE): Float32Array =>
  Float32Array.from({ length: side * side }, (_, i) => at(i % side, Math.floor(i / side)));

describe('graininess and mottle after ISO 13660', () => {
  test('the tile is 30 measurements of 600 to the inch, and half a cycle is 0.4 cycles/mm', () => {
    expect(25.4 / PITCH).toBeCloseTo(600, 9);
    expect(1 / (2 * TILE_MM)).toBeCloseTo(0.394, 3);
  });
  test('tiles of density 0.9 and 1.1 by turns: mottle 0.1, no graininess', () => {
    const tiles = field((x, y) => ((Math.floor(x / 30) + Math.floor(y / 30)) % 2 ? 1.1 : 0.9));
    const noise = printNoise(tiles, SIDE, SIDE, PITCH);
    expect(noise.tiles).toBe(100);
    expect(noise.mottle).toBeCloseTo(0.1, 6);
    expect(noise.graininess).toBeLessThan(1e-3);
  });
  test('a checkerboard of ±0.05 a measurement: graininess 0.05, no mottle', () => {
    const noise = printNoise(
      field((x, y) => 1 + ((x + y) % 2 ? 0.05 : -0.05)),
      SIDE,
      SIDE,
      PITCH,
    );
    expect(noise.graininess).toBeCloseTo(0.05, 6);
    expect(noise.mottle).toBeLessThan(1e-6);
  });
  test('a finer field is averaged over each measurement, a coarser one read at the nearest cell', () => {
    const fine = printNoise(
      field((x, y) => 1 + ((x + y) % 2 ? 0.05 : -0.05), 2 * SIDE),
      2 * SIDE,
      2 * SIDE,
      PITCH / 2,
    );
    expect(fine.tiles).toBe(100);
    expect(fine.graininess).toBeLessThan(1e-3);
    // Cells of 0.127 mm: ten to a tile, three measurements to a cell.
    const coarse = printNoise(
      field((x, y) => 1 + ((x + y) % 2 ? 0.05 : -0.05), 100),
      100,
      100,
      0.127,
    );
    expect(coarse.graininess).toBeCloseTo(0.05, 6);
  });
  test('white noise of deviation s: graininess s, mottle s/30', () => {
    const random = createGenerator(7);
    const noise = printNoise(
      field(() => 1 + 0.03 * random.nextNormal()),
      SIDE,
      SIDE,
      PITCH,
    );
    // 90 000 samples: 0.24 % standard error; 100 tiles: 7 %.
    expect(Math.abs(noise.graininess / 0.03 - 1)).toBeLessThan(0.01);
    expect(Math.abs(noise.mottle / 0.001 - 1)).toBeLessThan(0.28);
  });
  test('a field smaller than a tile is refused', () => {
    expect(() => printNoise(new Float32Array(9), 3, 3, 0.1)).toThrow(RangeError);
  });
});
