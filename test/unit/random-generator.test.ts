import { describe, expect, test } from 'vitest';
import { createGenerator, createGeneratorFromState, createSplitMix64 } from '../../src/base/random/generator.ts';
import { chiSquare, correlation, moments } from './random-statistics.ts';

describe('known answers', () => {
  test('xoshiro128** from the state 1, 2, 3, 4', () => {
    // Reference words of the authors' C program, as published in the test suites of several independent ports.
    const generator = createGeneratorFromState([1, 2, 3, 4]);
    const words = Array.from({ length: 10 }, () => generator.nextUint32());
    expect(words).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804,
    ]);
  });

  test('SplitMix64 from the seed 1234567', () => {
    // Known answer published with the Rosetta Code task "Pseudo-random numbers/Splitmix64" (from memory).
    const next = createSplitMix64(1234567n);
    expect([next(), next(), next(), next(), next()]).toEqual([
      6457827717110365317n,
      3203168211198807973n,
      9817491932198370423n,
      4593380528125082431n,
      16408922859458223821n,
    ]);
  });
});

describe('stream', () => {
  test('the same seed gives the same numbers, another seed others', () => {
    const take = (seed: number) => {
      const generator = createGenerator(seed);
      return Array.from({ length: 50 }, () => generator.nextUint32());
    };
    expect(take(7)).toEqual(take(7));
    expect(take(7).some((word) => take(8).includes(word))).toBe(false);
    expect(new Set(take(0)).size).toBe(50);
  });

  test('unit numbers fill [0, 1) evenly', () => {
    const generator = createGenerator(42);
    const values = Float64Array.from({ length: 100_000 }, () => generator.nextUnit());
    const { mean, variance } = moments(values);
    // Five standard errors: sqrt(1/12/n) and sqrt(1/180/n).
    expect(Math.abs(mean - 0.5)).toBeLessThan(5 * Math.sqrt(1 / 12 / 100_000));
    expect(Math.abs(variance - 1 / 12)).toBeLessThan(5 * Math.sqrt(1 / 180 / 100_000));
    // 99 degrees of freedom: mean 99, standard deviation 14.
    expect(Math.abs(chiSquare(values, 100) - 99)).toBeLessThan(5 * 14.1);
    expect(Math.min(...values.subarray(0, 50_000))).toBeGreaterThanOrEqual(0);
    expect(Math.max(...values.subarray(0, 50_000))).toBeLessThan(1);
    expect(Math.abs(correlation(values.subarray(0, -1), values.subarray(1)))).toBeLessThan(5 / Math.sqrt(100_000));
  });

  test('normal numbers have mean 0, variance 1, the right tails, and neighbours are independent', () => {
    const generator = createGenerator(43);
    const values = Float64Array.from({ length: 100_000 }, () => generator.nextNormal());
    const { mean, variance } = moments(values);
    expect(Math.abs(mean)).toBeLessThan(5 / Math.sqrt(100_000));
    expect(Math.abs(variance - 1)).toBeLessThan(5 * Math.sqrt(2 / 100_000));
    const beyond = values.filter((value) => Math.abs(value) > 1.959964).length / values.length;
    expect(Math.abs(beyond - 0.05)).toBeLessThan(5 * Math.sqrt((0.05 * 0.95) / 100_000));
    expect(Math.abs(correlation(values.subarray(0, -1), values.subarray(1)))).toBeLessThan(5 / Math.sqrt(100_000));
  });

  test('impossible seeds and states are refused', () => {
    expect(() => createGenerator(-1)).toThrow(RangeError);
    expect(() => createGenerator(Number.NaN)).toThrow(RangeError);
    expect(() => createGeneratorFromState([0, 0, 0, 0])).toThrow(RangeError);
  });
});
