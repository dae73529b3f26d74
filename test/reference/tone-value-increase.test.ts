import { describe, expect, test } from 'vitest';
import { dottedReflectance } from '../../src/physics/material/coat-optics.ts';
import { toneValueIncrease } from '../../src/studies/diagnose/tones.ts';

/** Computed from Murray–Davies and Yule–Nielsen (Murray 1936; Yule & Nielsen 1951; n = 1.7 after Pearson, TAGA 1981) for dots of 50 %, solid density 1.4. */
describe('tone value increase', () => {
  const solid = 10 ** -1.4;
  test.each([
    [1, 0.5],
    [1.7, 0.634866],
    [2, 0.666831],
  ])('Yule–Nielsen n = %f makes half the area look like %f', (n, apparent) => {
    const tint = dottedReflectance(0.5, solid, 1, n);
    expect(toneValueIncrease(0.5, tint, solid, 1)).toBeCloseTo(apparent - 0.5, 5);
  });
  test('light dots on a dark ground count likewise', () => {
    expect(toneValueIncrease(0.5, 0.05 + 0.5 * 0.7, 0.75, 0.05)).toBeCloseTo(0, 9);
    expect(toneValueIncrease(0.5, 0.05 + 0.6 * 0.7, 0.75, 0.05)).toBeCloseTo(0.1, 9);
  });
  test('dots that do not show increase nothing', () => {
    expect(toneValueIncrease(0.5, 0.3, 0.3, 0.3)).toBe(0);
  });
});
