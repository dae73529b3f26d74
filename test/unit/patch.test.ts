import { describe, expect, test } from 'vitest';
import {
  colorDifference,
  differenceWords,
  type Lab,
  labFromD50,
  labToD50,
  labToLinearRgb,
} from '../../src/base/color/lab.ts';
import { colorFromPhoto, meanPatch } from '../../src/base/color/patch.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { BARK_LAB, kinship } from '../../src/physics/material/hiding.ts';
import { woodOf } from '../../src/piece/defaults.ts';

const WHITE: Lab = [95, 0, 0];
const encode = (value: number) => 255 * (value <= 0.0031308 ? 12.92 * value : 1.055 * value ** (1 / 2.4) - 0.055);
/** Pixels of a colour under a light (linear gains) with noise of some bytes. */
function pixels(lab: Lab, light: readonly number[], noise = 1.5, count = 900): Uint8ClampedArray {
  const random = createGenerator(5);
  const rgb = labToLinearRgb(lab).map((value, k) => value * light[k]);
  return Uint8ClampedArray.from({ length: 4 * count }, (_, i) =>
    i % 4 === 3 ? 255 : encode(rgb[i % 4]) + noise * random.nextNormal(),
  );
}
const read = (patch: Lab, reference: Lab, light: readonly number[], noise?: number) =>
  colorFromPhoto(meanPatch(pixels(patch, light, noise)), meanPatch(pixels(reference, light, noise)), reference);

describe('colour of a painted patch in a photograph', () => {
  test('a planted colour is found under a yellow lamp, by white paper or by a grey card', () => {
    for (const lab of [
      [29, 3, 4.5],
      [90, 0.5, 8],
      [52, -12, 20],
    ] as Lab[]) {
      for (const reference of [WHITE, [49.5, 0, 0] as Lab]) {
        const reading = read(lab, reference, [0.8, 0.66, 0.42]);
        if (reading.kind !== 'color') throw new Error(reading.reason);
        expect(colorDifference(reading.lab, lab)).toBeLessThan(0.8);
        expect(reading.spread).toBeGreaterThan(0.1);
      }
    }
  });

  test('refuses what cannot be right, and says what to do', () => {
    const reasonOf = (reading: ReturnType<typeof read>) => (reading.kind === 'refused' ? reading.reason : 'read');
    expect(reasonOf(read([30, 3, 4], WHITE, [1.6, 1.5, 1.2]))).toContain('The reference is overexposed');
    expect(reasonOf(read([30, 3, 4], WHITE, [0.02, 0.02, 0.01], 0))).toContain('too dark');
    expect(reasonOf(read([30, 3, 4], WHITE, [0.8, 0.8, 0.8], 40))).toContain('uneven');
    expect(reasonOf(read([92, 0, 0], [49.5, 0, 0], [0.7, 0.7, 0.7]))).toBe('read');
    const swapped = colorFromPhoto(
      meanPatch(pixels(WHITE, [0.7, 0.7, 0.7])),
      meanPatch(pixels([30, 3, 4], [0.7, 0.7, 0.7])),
      WHITE,
    );
    expect(reasonOf(swapped)).toContain('lighter than white');
    const small = colorFromPhoto(
      meanPatch(pixels([30, 3, 4], [1, 1, 1], 0, 9)),
      meanPatch(pixels(WHITE, [0.8, 0.8, 0.8])),
      WHITE,
    );
    expect(reasonOf(small)).toContain('only 9 pixels');
  });
});

describe('D50 and D65', () => {
  test('there and back is the colour; greys keep their L*', () => {
    const lab: Lab = [38.4, 13.7, 14.4];
    expect(colorDifference(labFromD50(labToD50(lab)), lab)).toBeLessThan(1e-6);
    expect(labFromD50([61, 0, 0]).map((value) => Math.round(1e3 * value) / 1e3 + 0)).toEqual([61, 0, 0]);
  });

  test('a measured brown and white paint: adaptation is as near as metamerism lets it', () => {
    // Computed from the published spectra "dark skin" and "white 9.5" (BabelColor averages) under both lights; see
    // test/reference/paint-spectra.test.ts.
    const brown = colorDifference(labFromD50([38.424, 13.696, 14.421]), [37.972, 12.111, 13.69]);
    const white = colorDifference(labFromD50([96.526, -0.471, 2.423]), [96.507, -0.904, 2.601]);
    expect(brown).toBeLessThan(2);
    expect(white).toBeLessThan(1);
    // Without it the brown would be farther off.
    expect(colorDifference([38.424, 13.696, 14.421], [37.972, 12.111, 13.69])).toBeGreaterThan(brown);
  });
});

describe('beside bark and wood', () => {
  test('a dark warm brown belongs there; blue, green, loud and black do not', () => {
    const lime = woodOf('lime');
    expect(kinship([29, 3, 4.5], lime).concern).toBeNull();
    expect(kinship([34, 9, 14], lime).concern).toBeNull();
    expect(kinship([30, -2, -14], lime).concern).toContain('bluish');
    expect(kinship([34, -14, 10], lime).concern).toContain('greenish');
    expect(kinship([45, 45, 30], lime).concern).toContain('stronger than anything');
    expect(kinship([8, 0, 0], lime).concern).toContain('nearer to black');
    const { toBark, toWood } = kinship([29, 3, 4.5], lime);
    expect(toBark).toBeLessThan(toWood);
    const [l, a, b] = BARK_LAB;
    expect(l).toBeGreaterThan(20);
    expect(l).toBeLessThan(50);
    expect(a).toBeGreaterThan(0);
    expect(b).toBeGreaterThan(5);
  });

  test('a difference in words grows with the number', () => {
    expect(new Set([0.5, 1.5, 3, 6, 12].map(differenceWords)).size).toBe(5);
  });
});
