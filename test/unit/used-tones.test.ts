import { expect, test } from 'vitest';
import { NEUTRAL_TONE } from '../../src/piece/defaults.ts';
import type { ToneChart } from '../../src/studies/diagnose/tones.ts';
import { usedTones } from '../../src/studies/diagnose/used-tones.ts';

const chartOf = (lightness: readonly number[]): ToneChart => {
  const tones = lightness.map((_, i) => i / (lightness.length - 1));
  return {
    tones,
    wanted: lightness,
    passes: [{ power: [], residueUm: [], lightness }],
    low: lightness,
    high: lightness,
  };
};

test('says where a coat begins to open and where it is clear, on the curve’s own scale', () => {
  const chart = chartOf([20, 20, 20, 40, 60, 80, 80, 80, 80]);
  const { opens, clear } = usedTones(chart, NEUTRAL_TONE);
  // One L* of the twenty between two tones, an eighth of the range apart.
  expect(opens).toBeCloseTo((2 + 1 / 20) / 8, 6);
  expect(clear).toBeCloseTo((5 - 1 / 20) / 8, 6);
  const lifted = {
    ...NEUTRAL_TONE,
    curve: [
      [0, 0.5],
      [1, 1],
    ] as [number, number][],
  };
  expect(usedTones(chart, lifted).opens).toBeCloseTo(0.5 + opens! / 2, 2);
});

test('says nothing where every tone is another one, or none is', () => {
  expect(usedTones(chartOf([20, 35, 50, 65, 80]), NEUTRAL_TONE)).toEqual({ opens: null, clear: null });
  expect(usedTones(chartOf([20, 20, 20, 20.5]), NEUTRAL_TONE)).toEqual({ opens: null, clear: null });
  // Where burning darkens it is the same the other way round.
  expect(usedTones(chartOf([80, 80, 80, 50, 20]), NEUTRAL_TONE).opens).toBeGreaterThan(0.5);
});
