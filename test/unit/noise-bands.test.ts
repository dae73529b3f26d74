import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { haarStep, noiseBands, type PartialPlane, seenNoise } from '../../src/studies/diagnose/tally.ts';
import { toneError } from '../../src/studies/sure/tone-error.ts';

const plane = (side: number, at: (x: number, y: number) => number, pitchMm = 0.1): PartialPlane => ({
  width: side,
  height: side,
  pitchMm,
  values: Float32Array.from({ length: side * side }, (_, i) => at(i % side, Math.floor(i / side))),
  counts: new Uint8Array(side * side).fill(1),
});
const variance = (values: Float32Array): number => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length;
};

describe('octaves of noise', () => {
  test('variances of all scales add up to that of the plane', () => {
    const random = createGenerator(3);
    const noise = plane(64, (x) => random.nextNormal() + 2 * Math.sin(x / 5));
    let level = noise;
    let sum = 0;
    while (level.width > 1) {
      const step = haarStep(level);
      sum += step.variance;
      level = step.coarser;
    }
    expect(sum / variance(noise.values)).toBeCloseTo(1, 4);
  });
  test('a checkerboard is all in the finest octave, one of eight cells in the fourth', () => {
    const fine = noiseBands(plane(128, (x, y) => ((x + y) % 2 ? 1 : -1)));
    expect(fine[0].variance).toBeCloseTo(1, 5);
    expect(fine.slice(1).every((band) => band.variance < 1e-9)).toBe(true);
    const coarse = noiseBands(plane(128, (x, y) => ((Math.floor(x / 8) + Math.floor(y / 8)) % 2 ? 1 : -1)));
    expect(coarse.map((band) => Math.round(band.variance))).toEqual([0, 0, 0, 1, 0]);
    expect(coarse[3].cyclesPerMm).toBeCloseTo(1 / (2 * Math.SQRT2 * 0.8), 9);
  });
  test('places that do not count are left out with their blocks', () => {
    const holed = plane(32, (x, y) => (x === 5 && y === 5 ? 1e6 : 0));
    (holed.counts as Uint8Array)[5 * 32 + 5] = 0;
    expect(noiseBands(holed).every((band) => band.variance === 0)).toBe(true);
  });
  test('what is finer than the eye sees counts less from further away; blotches of centimetres do not vanish', () => {
    const dots = noiseBands(plane(128, (x, y) => ((x + y) % 2 ? 10 : -10)));
    // The octave's middle, 3.5 cycles/mm: 25 and 6.2 cycles/deg, of which the eye keeps about 1/18 and a little less than half.
    expect(seenNoise(dots, 400)).toBeLessThan(1);
    expect(seenNoise(dots, 100)).toBeGreaterThan(4);
    const blotches = [{ cyclesPerMm: 0.2, variance: 9 }];
    expect(seenNoise(blotches, 400)).toBeGreaterThan(2.8);
    expect(seenNoise([], 400)).toBe(0);
  });
});

describe('tone error', () => {
  test('of places that all are 3 L* too light is 3 everywhere', () => {
    const error = toneError([30, 50, 70, 90].map((wanted) => ({ wanted, predicted: wanted + 3, count: 10 })));
    expect(error.rms).toBeCloseTo(3, 9);
    expect(error.max).toBeCloseTo(3, 9);
    expect(error.zones.filter(({ share }) => share > 0).map((zone) => zone.error)).toEqual([3, 3, 3, 3]);
  });
  test('weighs by places, and rare tones do not make the largest error', () => {
    const error = toneError([
      { wanted: 30, predicted: 30, count: 990 },
      { wanted: 90, predicted: 50, count: 1 },
      { wanted: 80, predicted: 70, count: 9 },
    ]);
    expect(error.max).toBe(10);
    expect(error.rms).toBeCloseTo(Math.sqrt((1600 + 900) / 1000), 9);
  });
  test('of nothing is nothing', () => {
    expect(toneError([])).toEqual({ rms: 0, max: 0, zones: [] });
  });
});
