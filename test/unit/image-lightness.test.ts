import { describe, expect, test } from 'vitest';
import { lightnessToLuminance, luminancesToLightnesses, luminanceToLightness } from '../../src/image/lightness.ts';

describe('lightness', () => {
  test.each([
    // L* of Y computed with colorjs.io 0.7.1 and by hand from CIE 15.
    [0.05, 26.735],
    [0.062, 29.912],
    [0.0866, 35.321],
    [0.18, 49.496],
    [0.5, 76.069],
    [0.884, 95.329],
    [0.001, 0.9033],
  ])('Y %d has L* %d', (luminance, lightness) => {
    expect(luminanceToLightness(luminance) * 100).toBeCloseTo(lightness, 3);
    expect(lightnessToLuminance(luminanceToLightness(luminance))).toBeCloseTo(luminance, 12);
  });

  test('edges and NaN', () => {
    for (const convert of [luminanceToLightness, lightnessToLuminance]) {
      expect([convert(0), convert(1), convert(-1), convert(2), convert(Number.NaN)]).toEqual([0, 1, 0, 1, 0]);
    }
    const odd = Float32Array.of(0, 1, -1, 2, Number.NaN);
    expect([...luminancesToLightnesses(odd)]).toEqual([0, 1, 0, 1, 0]);
    expect([...odd.map(lightnessToLuminance)]).toEqual([0, 1, 0, 1, 0]);
  });

  test('arrays agree with the formula and round-trip', () => {
    const values = Float32Array.from({ length: 20_001 }, (_, i) => (i / 20_000) ** 3);
    const lightnesses = luminancesToLightnesses(values);
    const back = lightnesses.map(lightnessToLuminance);
    let worst = 0;
    let worstBack = 0;
    values.forEach((value, i) => {
      worst = Math.max(worst, Math.abs(lightnesses[i] - luminanceToLightness(value)));
      worstBack = Math.max(worstBack, Math.abs(back[i] - value));
    });
    expect(worst).toBeLessThan(1e-6);
    expect(worstBack).toBeLessThan(1e-6);
  });
});
