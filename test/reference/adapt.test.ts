import { describe, expect, test } from 'vitest';
import { colorDifference, type Lab, labFromD50, labToD50, xyzToLab } from '../../src/base/color/lab.ts';

/** XYZ under D50 to XYZ under D65 by Bradford's matrix. Source: B. Lindbloom, "Chromatic Adaptation", brucelindbloom.com (value from memory). */
const D50_TO_D65 = [
  [0.9555766, -0.0230393, 0.0631636],
  [-0.0282895, 1.0099416, 0.0210077],
  [0.0122982, -0.020483, 1.3299098],
] as const;
/** D50 as that page has it (ASTM E308). */
const D50 = [0.96422, 1, 0.82521] as const;

/** XYZ of L*a*b*, by the formula of CIE 015 written out. */
function xyzUnderD50([l, a, b]: Lab): [number, number, number] {
  const fy = (l + 16) / 116;
  const cube = (f: number) => (f > 6 / 29 ? f ** 3 : 3 * (6 / 29) ** 2 * (f - 4 / 29));
  return [D50[0] * cube(fy + a / 500), D50[1] * cube(fy), D50[2] * cube(fy - b / 200)];
}

describe('L*a*b* from D50 to D65', () => {
  test.each([[[38.424, 13.696, 14.421]], [[96.526, -0.471, 2.423]], [[29, 3, 4.5]], [[55, -30, -20]], [[5, 2, -6]]] as [
    Lab,
  ][])('%j is what Bradford’s matrix makes of it', (lab) => {
    const xyz = xyzUnderD50(lab);
    const [x, y, z] = D50_TO_D65.map((row) => row[0] * xyz[0] + row[1] * xyz[1] + row[2] * xyz[2]);
    // White points differ in the fifth digit from one table to another.
    expect(colorDifference(labFromD50(lab), xyzToLab([x, y, z]))).toBeLessThan(0.03);
    expect(colorDifference(labToD50(labFromD50(lab)), lab)).toBeLessThan(1e-6);
  });

  test('it misses a measured paint by its metamerism only: a brown by 0.51, a white by 0.34 ΔE00', () => {
    // BabelColor averages "dark skin" and "white 9.5", computed from the published spectra under both lights with the tables of
    // python3-colormath 3.0.0 (see test/reference/paint-spectra.test.ts). The adaptation knows no spectra.
    const brown = colorDifference(labFromD50([38.424, 13.696, 14.421]), [37.972, 12.111, 13.69]);
    const white = colorDifference(labFromD50([96.526, -0.471, 2.423]), [96.507, -0.904, 2.601]);
    // As measured here; two digits.
    expect(Math.abs(brown - 0.513)).toBeLessThan(5e-3);
    expect(Math.abs(white - 0.335)).toBeLessThan(5e-3);
    // The wrong way round the brown would be farther off than left alone.
    expect(colorDifference(labToD50([38.424, 13.696, 14.421]), [37.972, 12.111, 13.69])).toBeGreaterThan(1.5);
  });
});
