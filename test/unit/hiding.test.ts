import { describe, expect, test } from 'vitest';
import { colorDifference, type Lab } from '../../src/base/color/lab.ts';
import { appearanceLab, buildAppearance } from '../../src/physics/material/appearance.ts';
import { coatOptics } from '../../src/physics/material/coat-optics.ts';
import {
  contrastRatio,
  HIDING_CONTRAST,
  layersToHide,
  showingInWords,
  showThrough,
} from '../../src/physics/material/hiding.ts';
import { knotWood } from '../../src/physics/wood/grain.ts';
import { DEFAULT_STACK, DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT, woodOf } from '../../src/piece/defaults.ts';
import { opaqueReflectance } from '../helpers/textbook.ts';

/** A neutral grey with a given reflectance inside the film: L* of its measured reflectance (Saunderson, n = 1.5). */
function neutral(inside: number): Lab {
  const measured = 0.04 + (0.96 * 0.4 * inside) / (1 - 0.6 * inside);
  return [116 * Math.cbrt(measured) - 16, 0, 0];
}

describe('contrast ratio', () => {
  // Scattering power S·X for a contrast ratio of 0.98 over 0.80, computed from Kubelka–Munk's equations (E. Allen 1980, eqs.
  // 19–20); the ratio and the white ground as in ISO 6504 and ASTM D2805.
  test.each([
    [0.8, 6.500688],
    [0.85, 7.667049],
    [0.9, 9.142672],
  ])('a neutral coat with R∞ = %f reaches 0.98 at S·X = %f', (inside, power) => {
    const coat = { colorLab: neutral(inside), scatteringPerMm: 100 };
    const { absorption, scattering } = coatOptics(coat);
    // The spectrum of a neutral is flat to within a thousandth, which is what limits the comparison.
    expect(opaqueReflectance(absorption[18], scattering)).toBeCloseTo(inside, 2);
    expect(contrastRatio(coat, (power / scattering) * 1000)).toBeCloseTo(HIDING_CONTRAST, 3);
  });

  test('grows with thickness, from nothing to whole', () => {
    const ratios = [0, 5, 10, 20, 40, 80, 300].map((um) => contrastRatio(DEFAULT_UNDERCOAT, um));
    expect(ratios[0]).toBe(0);
    expect([...ratios].sort((a, b) => a - b)).toEqual(ratios);
    expect(ratios[6]).toBeGreaterThan(0.999);
  });
});

describe('layers until a coat hides', () => {
  test('common practice, no published source: a light undercoat takes about five layers of spray, a dark coat few', () => {
    expect(layersToHide({ ...DEFAULT_UNDERCOAT, dryThicknessUm: 20, layers: 1 })).toBeGreaterThanOrEqual(4);
    expect(layersToHide({ ...DEFAULT_UNDERCOAT, dryThicknessUm: 20, layers: 1 })).toBeLessThanOrEqual(6);
    expect(layersToHide(DEFAULT_TOP_COAT)).toBeLessThanOrEqual(2);
  });

  test('there is no number for a coat without thickness', () => {
    expect(layersToHide({ ...DEFAULT_UNDERCOAT, dryThicknessUm: 0 })).toBeNull();
  });
});

describe('what of the wood shows through', () => {
  const lime = woodOf('lime');
  const through = (dryThicknessUm: number, wood = lime) =>
    showThrough([{ ...DEFAULT_UNDERCOAT, dryThicknessUm }], wood);

  test('without a coat it is the knot itself; ever less as the coat grows, to nothing', () => {
    expect(through(0).knot).toBeCloseTo(colorDifference(lime.colorLab, knotWood(lime).colorLab), 1);
    expect(showThrough([], lime)).toEqual(through(0));
    const seen = [0, 10, 25, 50, 100, 400].map((um) => through(um).knot);
    expect([...seen].sort((a, b) => b - a)).toEqual(seen);
    expect(seen[5]).toBeLessThan(0.02);
  });

  test('is what the burn’s own colours say', () => {
    // The table over clear wood and over a knot, with the top coat burned away.
    const table = buildAppearance(DEFAULT_STACK, lime);
    const clear = appearanceLab(table, 1, DEFAULT_UNDERCOAT.dryThicknessUm);
    const knot = appearanceLab({ ...table, rgb: table.knotRgb }, 1, DEFAULT_UNDERCOAT.dryThicknessUm);
    // The table is in steps of the thickness left.
    expect(showThrough([DEFAULT_UNDERCOAT], lime).knot).toBeCloseTo(colorDifference(clear, knot), 1);
  });

  test('coats add up, and a dark one hides more than a light one', () => {
    const both = showThrough([DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT], lime).knot;
    expect(both).toBeLessThan(showThrough([DEFAULT_UNDERCOAT], lime).knot);
    expect(both).toBeLessThan(showThrough([DEFAULT_TOP_COAT], lime).knot);
  });

  test('rings of pine show more than those of lime; wood of one colour has none', () => {
    expect(through(20, woodOf('pine')).rings).toBeGreaterThan(2 * through(20).rings);
    expect(through(20, { ...lime, ringLightness: 0 }).rings).toBe(0);
  });

  test('in words', () => {
    expect([0, 0.99, 1, 2.99, 3, 5.9, 6, 40].map(showingInWords)).toEqual([
      'will not show',
      'will not show',
      'will show through faintly',
      'will show through faintly',
      'will show through',
      'will show through',
      'will show through plainly',
      'will show through plainly',
    ]);
  });
});
