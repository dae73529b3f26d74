import { describe, expect, test } from 'vitest';
import { hashToNormal, hashToUnit } from '../../src/base/random/generator.ts';
import { chiSquare, correlation, moments } from './random-statistics.ts';

const SIDE = 316;
const COUNT = SIDE * SIDE;

function sample(hash: (seed: number, ix: number, iy: number) => number, seed: number, dx = 0, dy = 0): Float64Array {
  return Float64Array.from({ length: COUNT }, (_, i) => hash(seed, (i % SIDE) + dx, Math.floor(i / SIDE) + dy));
}

describe('hash of a lattice point', () => {
  test('is the same whenever it is asked, and pinned', () => {
    hashToUnit(9, 9, 9);
    expect(hashToUnit(1, 2, 3)).toBe(hashToUnit(1, 2, 3));
    // Value computed by this project; a change would move every blotch of every saved piece.
    expect(hashToUnit(1, 2, 3) * 4294967296).toBe(582088591);
  });

  test('fills [0, 1) evenly', () => {
    const values = sample(hashToUnit, 5);
    const { mean, variance } = moments(values);
    expect(Math.abs(mean - 0.5)).toBeLessThan(5 * Math.sqrt(1 / 12 / COUNT));
    expect(Math.abs(variance - 1 / 12)).toBeLessThan(5 * Math.sqrt(1 / 180 / COUNT));
    expect(Math.abs(chiSquare(values, 100) - 99)).toBeLessThan(5 * 14.1);
  });

  test('has normal numbers of mean 0 and variance 1, never infinite', () => {
    const values = sample(hashToNormal, 6);
    const { mean, variance } = moments(values);
    expect(Math.abs(mean)).toBeLessThan(5 / Math.sqrt(COUNT));
    expect(Math.abs(variance - 1)).toBeLessThan(5 * Math.sqrt(2 / COUNT));
    expect(values.every((value) => Math.abs(value) < 6.8)).toBe(true);
  });

  test.each([
    ['next column', 0, 1, 0],
    ['next row', 0, 0, 1],
    ['diagonal', 0, 1, 1],
    ['next seed', 1, 0, 0],
    ['beyond the origin', 0, -500, -500],
  ])('does not follow its neighbour: %s', (_, dSeed, dx, dy) => {
    for (const hash of [hashToUnit, hashToNormal]) {
      const one = sample(hash, 11);
      const other = sample(hash, 11 + dSeed, dx, dy);
      expect(Math.abs(correlation(one, other))).toBeLessThan(5 / Math.sqrt(COUNT));
    }
  });

  test('rows and columns are not interchangeable', () => {
    expect(hashToUnit(3, 4, 8)).not.toBe(hashToUnit(3, 8, 4));
    expect(hashToUnit(4, 3, 8)).not.toBe(hashToUnit(3, 4, 8));
  });
});
