import { describe, expect, test } from 'vitest';
import { fromHalfFloat, toHalfFloat } from '../../src/base/half-float.ts';
import { createGenerator } from '../../src/base/random/generator.ts';

describe('half floats (IEEE 754 binary16)', () => {
  // Known patterns of the format, value from memory: one, the largest, the smallest normal, the smallest subnormal, a third.
  test.each([
    [0x0000, 0],
    [0x3c00, 1],
    [0x3c01, 1 + 2 ** -10],
    [0xc000, -2],
    [0x7bff, 65504],
    [0x0400, 2 ** -14],
    [0x03ff, 2 ** -14 - 2 ** -24],
    [0x0001, 2 ** -24],
    [0x3555, 0.333251953125],
    [0x7c00, Number.POSITIVE_INFINITY],
    [0xfc00, Number.NEGATIVE_INFINITY],
  ])('%i is %f', (half, value) => {
    expect(fromHalfFloat(half)).toBe(value);
    expect(toHalfFloat(value)).toBe(half);
  });

  test('all 65536 patterns come back, but for the kinds of not-a-number', () => {
    let nans = 0;
    for (let half = 0; half < 65536; half++) {
      const value = fromHalfFloat(half);
      if (Number.isNaN(value)) {
        nans++;
        expect(Number.isNaN(fromHalfFloat(toHalfFloat(value)))).toBe(true);
      } else if (toHalfFloat(value) !== half) {
        throw new Error(`${half} → ${value} → ${toHalfFloat(value)}`);
      }
    }
    expect(nans).toBe(2 * 1023);
    expect(Object.is(fromHalfFloat(0x8000), -0)).toBe(true);
    expect(toHalfFloat(-0)).toBe(0x8000);
  });

  test('values rise with their patterns', () => {
    for (let half = 1; half <= 0x7c00; half++) {
      if (!(fromHalfFloat(half) > fromHalfFloat(half - 1))) throw new Error(`${half}`);
    }
  });

  test('any number goes to the nearest one', () => {
    const random = createGenerator(51);
    for (let i = 0; i < 20_000; i++) {
      const value = Math.fround((random.nextUnit() - 0.5) * 2 ** (40 * random.nextUnit() - 24));
      const half = toHalfFloat(value);
      if (Math.abs(value) >= 65520) {
        expect(Math.abs(fromHalfFloat(half))).toBe(Number.POSITIVE_INFINITY);
        continue;
      }
      const off = Math.abs(fromHalfFloat(half) - value);
      const magnitude = half & 0x7fff;
      for (const neighbour of [Math.max(0, magnitude - 1), magnitude + 1]) {
        if (off > Math.abs(fromHalfFloat(neighbour) - Math.abs(value))) throw new Error(`${value} → ${half}`);
      }
    }
  });

  test('ties go away from zero, overflow to infinity, the tiniest to zero', () => {
    expect(toHalfFloat(1 + 2 ** -11)).toBe(0x3c01);
    expect(toHalfFloat(-1 - 2 ** -11)).toBe(0xbc01);
    expect(toHalfFloat(65519)).toBe(0x7bff);
    expect(toHalfFloat(65520)).toBe(0x7c00);
    expect(toHalfFloat(1e30)).toBe(0x7c00);
    expect(toHalfFloat(-1e30)).toBe(0xfc00);
    expect(toHalfFloat(2 ** -25)).toBe(1);
    expect(toHalfFloat(2 ** -26)).toBe(0);
    expect(toHalfFloat(-1e-40)).toBe(0x8000);
    expect(toHalfFloat(Number.NaN) & 0x7fff).toBeGreaterThan(0x7c00);
  });
});
