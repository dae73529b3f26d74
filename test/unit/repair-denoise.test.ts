import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { boxMean, boxMoments } from '../../src/image/repair/box-mean.ts';
import { reduceNoise } from '../../src/image/repair/denoise.ts';
import { largestDifference, turnedHalf } from '../helpers/planes.ts';

const SIDE = 96;
const build = (at: (x: number, y: number) => number, width = SIDE, height = SIDE) =>
  Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width)));

function noise(sigma: number): Float32Array {
  const random = createGenerator(7);
  return Float32Array.from({ length: SIDE * SIDE }, () => sigma * random.nextNormal());
}
const add = (a: Float32Array, b: Float32Array) => a.map((value, i) => value + b[i]);

/** Standard deviation from a plane without noise, over the dots that count. */
function deviation(plane: Float32Array, truth: Float32Array, counts: (x: number, y: number) => boolean): number {
  let square = 0;
  let count = 0;
  plane.forEach((value, i) => {
    if (!counts(i % SIDE, Math.floor(i / SIDE))) return;
    square += (value - truth[i]) ** 2;
    count++;
  });
  return Math.sqrt(square / count);
}

describe('box means', () => {
  test.each([
    [7, 5, 1],
    [5, 7, 2],
    [4, 3, 9],
    [1, 1, 3],
    [6, 1, 0],
  ])('%i × %i with radius %i are the means of the dots that lie inside', (width, height, radius) => {
    const plane = build((x, y) => Math.sin(3 * x + 7 * y), width, height);
    const { mean, variance } = boxMoments(plane, width, height, radius);
    expect(largestDifference(boxMean(plane, width, height, radius), mean)).toBe(0);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const near = [...plane].filter(
          (_, i) => Math.abs((i % width) - x) <= radius && Math.abs(Math.floor(i / width) - y) <= radius,
        );
        const average = near.reduce((sum, v) => sum + v, 0) / near.length;
        const spread = near.reduce((sum, v) => sum + (v - average) ** 2, 0) / near.length;
        expect(mean[y * width + x]).toBeCloseTo(average, 6);
        expect(variance[y * width + x]).toBeCloseTo(spread, 6);
      }
    }
  });

  test('the variance of a light flat plane is nothing, however long the sums have slid', () => {
    expect(Math.max(...boxMoments(new Float32Array(200 * 200).fill(0.9), 200, 200, 7).variance)).toBeLessThan(1e-12);
  });
});

describe('reduceNoise', () => {
  const step = build((x) => (x < SIDE / 2 ? 0.3 : 0.7));
  const noisy = add(step, noise(0.04));
  const calm = reduceNoise(noisy, SIDE, SIDE, { radius: 3, strength: 0.08 });

  test('noise falls in calm places', () => {
    const away = (x: number) => Math.abs(x + 0.5 - SIDE / 2) > 8;
    expect(deviation(noisy, step, away)).toBeGreaterThan(0.038);
    expect(deviation(calm, step, away)).toBeLessThan(0.014);
  });

  test('edges stay', () => {
    const clean = reduceNoise(step, SIDE, SIDE, { radius: 3, strength: 0.08 });
    const middle = 40 * SIDE + SIDE / 2;
    // Variance across the step is at most 0.04: a = 0.04 / 0.0464. A box blur of the same radius leaves 1/7 of the step between the two.
    expect(clean[middle] - clean[middle - 1]).toBeGreaterThan(0.8 * 0.4);
    expect(boxMean(step, SIDE, SIDE, 3)[middle] - boxMean(step, SIDE, SIDE, 3)[middle - 1]).toBeLessThan(0.06);
    expect(largestDifference(clean, step)).toBeLessThan(0.05);
  });

  test('a flat plane, a turned picture, no strength, and odd input', () => {
    const flat = new Float32Array(30).fill(0.37);
    expect(largestDifference(reduceNoise(flat, 6, 5), flat)).toBeLessThan(1e-6);
    const turned = turnedHalf(reduceNoise(turnedHalf(noisy), SIDE, SIDE));
    expect(largestDifference(turned, reduceNoise(noisy, SIDE, SIDE))).toBeLessThan(1e-6);
    expect(reduceNoise(noisy, SIDE, SIDE, { strength: 0 })).toEqual(noisy);
    expect(reduceNoise(new Float32Array(0), 0, 0)).toHaveLength(0);
    expect(() => reduceNoise(flat, 6, 5, { radius: 1.5 })).toThrow(RangeError);
  });
});
