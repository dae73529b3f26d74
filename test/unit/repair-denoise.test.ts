import { describe, expect, test } from 'vitest';
import { boxMean, boxMoments } from '../../src/core/image/repair/box-mean.ts';
import { reduceNoise } from '../../src/core/image/repair/denoise.ts';
import { estimateNoise } from '../../src/core/image/repair/estimate-noise.ts';
import { medianFilter } from '../../src/core/image/repair/median.ts';
import { createGenerator } from '../../src/core/random/generator.ts';
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
    expect(() => reduceNoise(flat, 6, 5, { shouldStop: () => true })).toThrow('cancelled');
  });
});

describe('estimateNoise', () => {
  test.each([0.01, 0.05])('finds planted noise of %d under slopes and curves', (sigma) => {
    const smooth = build((x, y) => 0.5 + 0.003 * x + 0.2 * Math.sin(y / 17) * Math.cos(x / 23));
    expect(estimateNoise(smooth, SIDE, SIDE)).toBeLessThan(0.0005);
    // From 9000 dots, neighbours not independent: within 4 %.
    expect(Math.abs(estimateNoise(add(smooth, noise(sigma)), SIDE, SIDE) / sigma - 1)).toBeLessThan(0.04);
  });

  test('is 0 for a plane too small to tell', () => {
    expect(estimateNoise(Float32Array.of(0, 1, 0, 1), 2, 2)).toBe(0);
  });
});

describe('medianFilter', () => {
  test.each([
    [9, 7, 1],
    [9, 7, 2],
    [3, 11, 4],
    [2, 2, 1],
  ])('%i × %i with radius %i is the middle of the sorted square', (width, height, radius) => {
    const random = createGenerator(3);
    const plane = build(() => Math.round(random.nextUnit() * 255) / 255, width, height);
    const out = medianFilter(plane, width, height, radius);
    const at = (x: number, y: number) =>
      plane[Math.min(height - 1, Math.max(0, y)) * width + Math.min(width - 1, Math.max(0, x))];
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const near: number[] = [];
        for (let v = -radius; v <= radius; v++) for (let u = -radius; u <= radius; u++) near.push(at(x + u, y + v));
        near.sort((a, b) => a - b);
        expect(out[y * width + x]).toBeCloseTo(near[(near.length - 1) / 2], 6);
      }
    }
  });

  test('takes dust away and keeps an edge', () => {
    const clean = build((x) => (x < SIDE / 2 ? 0.2 : 0.8));
    const dusty = clean.map((value, i) => (i % 41 === 0 ? 1 : value));
    expect(largestDifference(medianFilter(dusty, SIDE, SIDE, 1), clean)).toBeLessThan(1 / 8000);
  });

  test('odd input', () => {
    expect(medianFilter(new Float32Array(0), 0, 0, 2)).toHaveLength(0);
    expect(medianFilter(Float32Array.of(Number.NaN), 1, 1, 2)[0]).toBe(0);
    expect(() => medianFilter(Float32Array.of(1), 1, 1, 0)).toThrow(RangeError);
    expect(() => medianFilter(Float32Array.of(1), 1, 1, 1, () => true)).toThrow('cancelled');
  });
});
