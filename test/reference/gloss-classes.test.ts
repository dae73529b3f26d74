import { describe, expect, test } from 'vitest';
import { alphaOfGloss60 } from '../../src/physics/material/coat-optics.ts';
import { DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT } from '../../src/piece/defaults.ts';

/**
 * Gloss levels of the Master Painters Institute, "MPI Gloss and Sheen Standards" (as on its page of approved products): at 60°, at 85°, GU.
 * Level 6 (70–85) and 7 (more than 85) are left out: the view goes no smoother than about 61 GU and shows both as that.
 */
const LEVELS = [
  { level: 1, gloss60: [0, 5], sheen85: [0, 10] },
  { level: 2, gloss60: [0, 10], sheen85: [10, 35] },
  { level: 3, gloss60: [10, 25], sheen85: [10, 35] },
  { level: 4, gloss60: [20, 35], sheen85: [35, 100] },
  { level: 5, gloss60: [35, 70], sheen85: [0, 100] },
] as const;

/**
 * A gloss meter pointed at a GGX surface of index 1.5, written apart from the view: the reflection over lobes of half vectors by their
 * slope, D = 1/(π α² cos⁴θ (1 + tan²θ/α²)²), masking by Λ = (√(1 + α² tan²) − 1)/2 (E. Heitz, J. Computer Graphics Techniques 3(2), 2014,
 * eqs. 71–72), Fresnel after Snell. Apertures, in the plane by across, 4.4° × 11.7° at 60° and 4° × 6° at 85°, source 0.75° × 2.5°, black
 * glass of 1.567 reads 100: values from memory of ISO 2813.
 */
const METERS = { 60: [4.4, 11.7], 85: [4, 6] } as const;
const rad = (deg: number): number => (deg * Math.PI) / 180;

function reflected(cosine: number, index: number): number {
  const inside = Math.sqrt(1 - (1 - cosine * cosine) / (index * index));
  const across = (cosine - index * inside) / (cosine + index * inside);
  const along = (inside - index * cosine) / (inside + index * cosine);
  return (across * across + along * along) / 2;
}

function read(angle: 60 | 85, alpha: number): number {
  const [inPlane, across] = METERS[angle];
  const towards = (plane: number, side: number) => [
    Math.sin(plane) * Math.cos(side),
    Math.sin(side),
    Math.cos(plane) * Math.cos(side),
  ];
  const shadow = (cosine: number) => 0.5 * (Math.sqrt(1 + alpha ** 2 * (1 / cosine ** 2 - 1)) - 1);
  const middle = (i: number, parts: number) => (i + 0.5) / parts - 0.5;
  let sum = 0;
  for (let s = 0; s < 9; s++) {
    const light = towards(-rad(angle + 0.75 * middle(s % 3, 3)), rad(2.5 * middle(Math.floor(s / 3), 3)));
    for (let i = 0; i < 30; i++) {
      for (let j = 0; j < 30; j++) {
        const side = rad(across * middle(j, 30));
        const view = towards(rad(angle + inPlane * middle(i, 30)), side);
        const half = light.map((value, k) => value + view[k]);
        const length = Math.hypot(...half);
        const up = half[2] / length;
        const lobe = 1 / (Math.PI * alpha ** 2 * up ** 4 * (1 + (1 / up ** 2 - 1) / alpha ** 2) ** 2);
        const masking = 1 / ((1 + shadow(light[2])) * (1 + shadow(view[2])));
        sum += (lobe * masking * reflected(length / 2, 1.5) * Math.cos(side)) / (4 * light[2]);
      }
    }
  }
  const cell = (rad(inPlane) * rad(across)) / 900;
  return (100 * sum * cell) / 9 / reflected(Math.cos(rad(angle)), 1.567);
}

describe('gloss levels', () => {
  test('the roughness for each bound reads that bound again, on a meter written another way', () => {
    for (const gloss of [1, 3, 5, 10, 20, 25, 35, 50, 60]) {
      // Both sum over a grid: they agree to 0.1 % of the reading.
      expect(Math.abs(read(60, alphaOfGloss60(gloss)) / gloss - 1)).toBeLessThan(0.002);
    }
  });

  test('a level’s smooth end is clearly smoother than its dull end, and no two bounds look alike', () => {
    for (const { level, gloss60 } of LEVELS) {
      const [dull, smooth] = gloss60.map((gloss) => alphaOfGloss60(gloss));
      expect(smooth, `level ${level}`).toBeLessThan(0.75 * dull);
    }
    const bounds = [5, 10, 20, 25, 35, 60].map(alphaOfGloss60);
    for (let i = 1; i < bounds.length; i++) expect(bounds[i]).toBeLessThan(0.9 * bounds[i - 1]);
  });

  test('what is matt at 60° is matt at 85° too (level 1), and a satin shines more at 85° than an eggshell does', () => {
    for (const gloss of [1, 3, 5]) expect(read(85, alphaOfGloss60(gloss))).toBeLessThanOrEqual(LEVELS[0].sheen85[1]);
    // Level 3, in its middle, is within what it may have; level 4 ought to have 35 or more, of which this kind of microfacet gives 17–33.
    const eggshell = read(85, alphaOfGloss60(17.5));
    expect(eggshell).toBeGreaterThan(LEVELS[2].sheen85[0]);
    expect(eggshell).toBeLessThan(LEVELS[2].sheen85[1]);
    expect(read(85, alphaOfGloss60(27.5))).toBeGreaterThan(1.5 * eggshell);
  });

  test('the default top coat is a satin (level 4), the undercoat under it at most a velvet (level 2)', () => {
    const [low, high] = LEVELS[3].gloss60;
    expect(DEFAULT_TOP_COAT.gloss60).toBeGreaterThanOrEqual(low);
    expect(DEFAULT_TOP_COAT.gloss60).toBeLessThanOrEqual(high);
    expect(DEFAULT_UNDERCOAT.gloss60).toBeLessThanOrEqual(LEVELS[1].gloss60[1]);
  });
});
