import { describe, expect, test } from 'vitest';
import { lightnessToLuminance } from '../../src/image/lightness.ts';
import type { Picture } from '../../src/image/picture.ts';
import { adjustTone, applyContrast, createMonotoneCurve, createToneCurve } from '../../src/image/tone.ts';
import { NEUTRAL_TONE } from '../../src/piece/defaults.ts';

const STEPS = Array.from({ length: 1001 }, (_, i) => i / 1000);

/** A ramp of lightness from 0 to 1 as a picture of one row. */
function ramp(count: number): Picture {
  const luminance = Float32Array.from({ length: count }, (_, i) => lightnessToLuminance(i / (count - 1)));
  return { width: count, height: 1, luminance, alpha: null };
}

function isRising(values: ArrayLike<number>): boolean {
  for (let i = 1; i < values.length; i++) if (values[i] < values[i - 1] - 1e-12) return false;
  return true;
}

describe('contrast', () => {
  test.each([-0.9, -1 / 3, 0.25, 0.5, 0.99])(
    '%d keeps 0, middle and 1, rises, and has the promised slope',
    (contrast) => {
      expect([0, 0.5, 1].map((value) => applyContrast(value, contrast))).toEqual([0, 0.5, 1]);
      const curve = STEPS.map((value) => applyContrast(value, contrast));
      expect(isRising(curve)).toBe(true);
      curve.forEach((value, i) => {
        expect(value + curve[1000 - i]).toBeCloseTo(1, 12);
      });
      const slope = (1 + contrast) / (1 - contrast);
      const at = (x: number) => (applyContrast(x + 1e-6, contrast) - applyContrast(x - 1e-6, contrast)) / 2e-6;
      expect(at(0.5) / slope).toBeCloseTo(1, 2);
      expect(applyContrast(1e-7, contrast) / 1e-7).toBeCloseTo(1 / slope, 3);
    },
  );

  test('0 changes nothing, −1 is flat, 1 is a step', () => {
    expect(STEPS.map((value) => applyContrast(value, 0))).toEqual(STEPS);
    expect(applyContrast(0.01, -1)).toBeCloseTo(0.5, 3);
    expect(applyContrast(0.99, -1)).toBeCloseTo(0.5, 3);
    expect(applyContrast(0.49, 1)).toBeCloseTo(0, 3);
    expect(applyContrast(0.51, 1)).toBeCloseTo(1, 3);
  });
});

describe('monotone curve', () => {
  test('no points are a straight line; points are met; corners are added', () => {
    const straight = createMonotoneCurve([]);
    for (const x of STEPS) expect(straight(x)).toBeCloseTo(x, 14);
    const curve = createMonotoneCurve([
      [0.7, 0.75],
      [0.25, 0.1],
    ]);
    expect([0, 0.25, 0.7, 1].map(curve)).toEqual([0, 0.1, 0.75, 1]);
    expect([curve(-1), curve(2)]).toEqual([0, 1]);
  });

  test('rises wherever the points rise, and stays level between equal ones', () => {
    const curve = createMonotoneCurve([
      [0, 0],
      [0.1, 0.01],
      [0.2, 0.6],
      [0.5, 0.6],
      [0.52, 0.98],
      [1, 1],
    ]);
    expect(isRising(STEPS.map(curve))).toBe(true);
    expect(curve(0.35)).toBeCloseTo(0.6, 12);
  });

  test("keeps Fritsch and Carlson's test data rising", () => {
    // RPN 14 data of the paper's table 1 (from memory): a classic on which ordinary splines overshoot.
    const xs = [7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20];
    const ys = [0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.94374, 0.998636, 0.999919, 0.999994];
    const curve = createMonotoneCurve(xs.map((x, i) => [(x - 7.99) / 12.01, ys[i]] as const));
    expect(isRising(STEPS.map(curve))).toBe(true);
    expect(Math.max(...STEPS.map(curve))).toBeLessThanOrEqual(1);
  });

  test('of two points in one place the later counts', () => {
    expect(
      createMonotoneCurve([
        [0.5, 0.2],
        [0.5, 0.8],
      ])(0.5),
    ).toBe(0.8);
  });
});

describe('adjustTone', () => {
  test('neutral settings give the lightness of the picture', () => {
    const { lightness, mask, width, height } = adjustTone(ramp(501), NEUTRAL_TONE, 0.1);
    expect([width, height]).toEqual([501, 1]);
    for (let i = 0; i <= 500; i++) expect(Math.abs(lightness[i] - i / 500)).toBeLessThan(1e-5);
    expect(mask.every((value) => value === 255)).toBe(true);
  });

  test('exposure doubles linear light and clips', () => {
    const picture: Picture = { width: 3, height: 1, luminance: Float32Array.of(0.09, 0.5, 0.7), alpha: null };
    const { lightness } = adjustTone(picture, { ...NEUTRAL_TONE, exposureEv: 1 }, 0.1);
    expect(lightness[0]).toBeCloseTo(0.49496, 4);
    expect([lightness[1], lightness[2]]).toEqual([1, 1]);
    const darker = adjustTone(picture, { ...NEUTRAL_TONE, exposureEv: -8 }, 0.1).lightness;
    expect(darker[1] * 100).toBeCloseTo((903.296 * 0.5) / 256, 3);
  });

  test('gamma above 1 lightens the middle, and the order is contrast, gamma, curve', () => {
    expect(createToneCurve({ ...NEUTRAL_TONE, gamma: 2 })(0.25)).toBe(0.5);
    const curve = createToneCurve({ contrast: 1 / 3, gamma: 2, intent: [], curve: [[0.5, 0.3]] });
    // Contrast 1/3 (s = 2) takes 0.4 to 0.4 / 1.2 = 1/3; gamma 2 to 0.57735; then the curve through (0.5, 0.3).
    expect(curve(0.4)).toBeCloseTo(createMonotoneCurve([[0.5, 0.3]])(Math.sqrt(1 / 3)), 12);
    const { lightness } = adjustTone(
      ramp(11),
      { ...NEUTRAL_TONE, contrast: 1 / 3, gamma: 2, curve: [[0.5, 0.3]] },
      0.1,
    );
    expect(lightness[4]).toBeCloseTo(curve(0.4), 4);
  });

  test('the mask follows coverage', () => {
    const picture: Picture = { ...ramp(4), alpha: Float32Array.of(0, 0.001, 0.5, 1) };
    expect([...adjustTone(picture, NEUTRAL_TONE, 0.1).mask]).toEqual([0, 0, 128, 255]);
  });

  test('nothing, one point and not-a-number', () => {
    const empty = { width: 0, height: 0, luminance: new Float32Array(0), alpha: null };
    const sharp = { ...NEUTRAL_TONE, unsharpMask: { radiusMm: 1, amount: 1, threshold: 0 } };
    expect(adjustTone(empty, sharp, 0.1).lightness.length).toBe(0);
    const odd = { width: 1, height: 1, luminance: Float32Array.of(Number.NaN), alpha: null };
    expect([...adjustTone(odd, sharp, 0.1).lightness]).toEqual([0]);
    expect(() => adjustTone(empty, sharp, 0)).toThrow(RangeError);
  });
});
