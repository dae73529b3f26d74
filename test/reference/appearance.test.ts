import { describe, expect, test } from 'vitest';
import { colorDifference, hexToLab, type Lab, labToXyz, REFERENCE_WHITE } from '../../src/base/color/lab.ts';
import {
  BAND_COUNT,
  BAND_START_NM,
  BAND_STEP_NM,
  smoothestSpectrum,
  spectrumToXyz,
  type Triple,
  WHITE_XYZ,
} from '../../src/base/color/spectrum.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { luminanceToLightness } from '../../src/image/lightness.ts';
import { appearanceLab, buildAppearance, burnDirection, intactRgb } from '../../src/physics/material/appearance.ts';
import {
  absorptionOverScattering,
  filmReflectance,
  insideReflectance,
  measuredReflectance,
} from '../../src/physics/material/coat-optics.ts';
import { charredWood, scorchAbsorption, scorchLevel } from '../../src/physics/material/layers.ts';
import { DEFAULT_STACK, DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT, woodOf } from '../../src/piece/defaults.ts';
import type { Stack, Wood } from '../../src/piece/schema.ts';
import { normalFresnel, opaqueReflectance } from '../helpers/textbook.ts';

const LIME = woodOf('lime');

/** Half a unit of the last printed digit. */
const printed = (digits: number): number => 0.51 * 10 ** -digits;

/**
 * Kubelka–Munk, closed forms as in J. A. S. Viggiano, "Numerical pathology in selected Kubelka–Munk formulas", 2021, eqs. 2, 5, 7
 * and E. Allen 1980, eqs. 19–20. Numbers computed from them and from the differential equation by a separate program.
 */
describe('Kubelka–Munk film', () => {
  test.each([
    [0.5, 5, 0.1, 0.0, 0.318992],
    [0.5, 5, 0.1, 0.8, 0.748605],
    [1, 10, 0.05, 0.1, 0.360307],
    [0.2, 100, 0.05, 0.0, 0.827384],
    [0.2, 100, 0.05, 0.8, 0.890057],
    [150, 20, 0.005, 0.85, 0.211048],
    [150, 20, 0.025, 0.85, 0.059208],
    [0, 10, 0.1, 0.0, 0.5],
    [0, 10, 0.1, 0.5, 0.666667],
  ])('K %f, S %f, X %f, Rg %f', (absorption, scattering, thickness, ground, reflectance) => {
    expect(Math.abs(filmReflectance(absorption, scattering, thickness, ground) - reflectance)).toBeLessThan(printed(6));
  });

  test('solves dR/dx = S − 2(K+S)R + S R² from R = Rg, for random films', () => {
    // Fourth-order Runge–Kutta with 2000 steps; with (K+S)X ≤ 24 its error stays below 1e-9.
    const random = createGenerator(31);
    for (let i = 0; i < 60; i++) {
      const k = 200 * random.nextUnit() ** 3;
      const s = 1 + 150 * random.nextUnit();
      const thickness = 0.001 + 0.06 * random.nextUnit();
      const ground = random.nextUnit();
      const slope = (r: number) => s - 2 * (k + s) * r + s * r * r;
      const h = thickness / 2000;
      let r = ground;
      for (let step = 0; step < 2000; step++) {
        const k1 = slope(r);
        const k2 = slope(r + (h / 2) * k1);
        const k3 = slope(r + (h / 2) * k2);
        const k4 = slope(r + h * k3);
        r += (h / 6) * (k1 + 2 * k2 + 2 * k3 + k4);
      }
      expect(Math.abs(filmReflectance(k, s, thickness, ground) - r)).toBeLessThan(1e-8);
    }
  });

  test('limits: no film, no absorption, no scattering, thick film', () => {
    expect(filmReflectance(10, 20, 0, 0.4)).toBe(0.4);
    expect(filmReflectance(1e-9, 10, 0.1, 0.5)).toBeCloseTo(filmReflectance(0, 10, 0.1, 0.5), 6);
    expect(filmReflectance(10, 1e-6, 0.05, 0.5)).toBeCloseTo(filmReflectance(10, 0, 0.05, 0.5), 6);
    expect(filmReflectance(10, 0, 0.05, 0.5)).toBeCloseTo(0.5 * Math.exp(-1), 12);
    expect(filmReflectance(150, 20, 10, 0.85)).toBeCloseTo(opaqueReflectance(150, 20), 12);
    // A film of its own opaque reflectance as ground stays what it is at any thickness.
    for (const thickness of [1e-6, 0.001, 0.02, 1]) {
      expect(filmReflectance(5, 50, thickness, opaqueReflectance(5, 50))).toBeCloseTo(opaqueReflectance(5, 50), 9);
    }
  });

  test('two films of one paint are one film of both thicknesses', () => {
    const two = filmReflectance(30, 40, 0.007, filmReflectance(30, 40, 0.013, 0.6));
    expect(two).toBeCloseTo(filmReflectance(30, 40, 0.02, 0.6), 12);
  });

  test('opaque reflectance and back', () => {
    expect(Math.abs(opaqueReflectance(0.1, 1) - 0.641742)).toBeLessThan(printed(6));
    expect(absorptionOverScattering(0.5)).toBe(0.25);
    for (const r of [0.02, 0.059, 0.3, 0.9, 0.99])
      expect(opaqueReflectance(absorptionOverScattering(r), 1)).toBeCloseTo(r, 10);
  });
});

describe("Saunderson's correction, Allen 1980, eqs. 24 and 26", () => {
  test.each([
    [0.5, 0.314286],
    [0.9, 0.791304],
    [0.05, 0.059794],
    [1, 1],
  ])('%f inside reads %f', (inside, measured) => {
    expect(Math.abs(measuredReflectance(inside, 0.04, 0.6) - measured)).toBeLessThan(printed(6));
  });

  test('the inverse is one, and is 0 below the mirror reflection', () => {
    for (let r = 0; r <= 1; r += 0.05) expect(insideReflectance(measuredReflectance(r))).toBeCloseTo(r, 12);
    expect(insideReflectance(0.03)).toBe(0);
  });

  test('mirror reflection of a film of index 1.5, D. B. Judd, eq. 3.1', () => {
    expect(normalFresnel(1, 1.5)).toBeCloseTo(0.04, 12);
    expect(normalFresnel(1.5, 1)).toBeCloseTo(0.04, 12);
  });
});

/**
 * Hiding: contrast ratio of a paint film over black and over white of 0.80 (white ground of 0.80: value from memory; ISO 6504-1:1983
 * asks for 98 %). S·X for a ratio of 0.98 computed from Kubelka–Munk.
 */
describe('hiding', () => {
  const ratio = (k: number, s: number, x: number) => filmReflectance(k, s, x, 0) / filmReflectance(k, s, x, 0.8);

  test.each([
    [0.8, 0.025, 6.500688, 0.784, 0.8, 108.3],
    [0.85, 0.013235, 7.667049, 0.829484, 0.846413, 127.8],
    [0.88, 0.008182, 8.514129, 0.855478, 0.872937, 141.9],
    [0.9, 0.005556, 9.142672, 0.871877, 0.88967, 152.4],
    [0.92, 0.003478, 9.810765, 0.887124, 0.905228, 163.5],
  ])('R∞ %f: K/S %f, S·X %f for a contrast ratio of 0.98', (opaque, ks, power, overBlack, overWhite, sAt60) => {
    expect(Math.abs(absorptionOverScattering(opaque) - ks)).toBeLessThan(printed(6));
    const k = absorptionOverScattering(opaque);
    let [low, high] = [0.1, 50];
    for (let i = 0; i < 80; i++) {
      const middle = (low + high) / 2;
      if (ratio(k * middle, middle, 1) < 0.98) low = middle;
      else high = middle;
    }
    expect(Math.abs(low - power)).toBeLessThan(printed(6));
    expect(Math.abs(filmReflectance(k * low, low, 1, 0) - overBlack)).toBeLessThan(printed(6));
    expect(Math.abs(filmReflectance(k * low, low, 1, 0.8) - overWhite)).toBeLessThan(printed(6));
    expect(Math.abs(low / 0.06 - sAt60)).toBeLessThan(printed(1));
  });

  test.each([
    [20, 0.7422, 0.783],
    [30, 0.7888, 0.864],
    [40, 0.8189, 0.908],
    [50, 0.8396, 0.935],
    [60, 0.8544, 0.952],
    [80, 0.8737, 0.972],
  ])('a white undercoat (S 100, K 0.5 per mm) of %d µm over wood of 0.50', (um, overWood, contrast) => {
    expect(Math.abs(filmReflectance(0.5, 100, um / 1000, 0.5) - overWood)).toBeLessThan(printed(4));
    expect(Math.abs(ratio(0.5, 100, um / 1000) - contrast)).toBeLessThan(printed(3));
  });
});

describe('what a dark residue over white looks like', () => {
  const lightness = (um: number) =>
    100 * luminanceToLightness(measuredReflectance(filmReflectance(150, 20, um / 1000, 0.85)));

  // Computed from Kubelka–Munk and Saunderson (K 150, S 20 per mm over 0.85), printed to 0.1.
  test.each([
    [0, 87.3],
    [0.5, 78.5],
    [1, 71.6],
    [2, 61.0],
    [3, 53.3],
    [5, 43.2],
    [8, 35.4],
    [12, 31.7],
    [25, 30.3],
  ])('%f µm: L* %f', (um, printedLightness) => {
    expect(Math.abs(lightness(um) - printedLightness)).toBeLessThan(printed(1));
  });

  test('the first micrometre costs about 16 L*', () => {
    expect(lightness(0) - lightness(1)).toBeGreaterThan(15);
    expect(lightness(0) - lightness(1)).toBeLessThan(17);
  });
});

/** XYZ of a colour relative to the spectral tables' own white, as a coat's colour is read. */
const xyzInTables = (lab: Lab): Triple =>
  labToXyz(lab).map((value, i) => (value * WHITE_XYZ[i]) / REFERENCE_WHITE[i]) as unknown as Triple;

const spectrumOrNull = (xyz: Triple) => {
  try {
    return smoothestSpectrum(xyz);
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
};

describe('smoothest spectrum (S. A. Burns, arXiv 1710.05732)', () => {
  test('has the colour it was made for, to 1e-9, and stays within 0–1', () => {
    const missed: string[] = [];
    for (const l of [8, 20, 29, 45, 60, 75, 90, 96]) {
      for (const [a, b] of [
        [0, 0],
        [3, 4.5],
        [0.5, 8],
        [12, 14],
        [-8, 10],
        [4, -10],
        [-6, -4],
        [l < 80 ? 20 : 4, l < 80 ? 20 : 12],
      ]) {
        const wanted = xyzInTables([l, a, b]);
        // Colours that no surface can have are not asked for.
        if (wanted.some((value) => value < 0.002)) continue;
        const spectrum = spectrumOrNull(wanted);
        if (!spectrum) {
          missed.push(`${l},${a},${b}`);
          continue;
        }
        const got = spectrumToXyz(spectrum);
        for (let k = 0; k < 3; k++) expect(Math.abs(got[k] - wanted[k])).toBeLessThan(1e-9);
        expect(spectrum.every((value) => value >= 0 && value <= 1)).toBe(true);
      }
    }
    // What no surface can have: a bluish one of L* 96 would have to reflect more than all of the short waves; of orange ones of
    // Y = 0.90 and Z = 0.72 Zn the brightest in X, which reflects all but 470–510 nm, has 0.962 Xn and not 0.967.
    expect(missed).toEqual(['96,12,14', '96,4,-10']);
  });

  test('there is one for every colour that a screen can show, but for the perfect white', () => {
    const codes = [0, 0x33, 0x4d, 0x66, 0x99, 0xcc, 0xff];
    const missed: string[] = [];
    for (const r of codes) {
      for (const g of codes) {
        for (const b of codes) {
          const hex = `#${[r, g, b].map((code) => code.toString(16).padStart(2, '0')).join('')}`;
          const xyz = xyzInTables(hexToLab(hex)).map((value) => Math.max(value, 1e-4)) as unknown as Triple;
          if (!spectrumOrNull(xyz)) missed.push(hex);
        }
      }
    }
    expect(missed).toEqual(['#ffffff']);
  });

  test('is flat for a neutral', () => {
    for (const level of [0.01, 0.18, 0.5, 0.9, 0.99]) {
      const spectrum = smoothestSpectrum(WHITE_XYZ.map((value) => value * level) as unknown as Triple);
      for (const value of spectrum) expect(value).toBeCloseTo(level, 8);
    }
  });

  test('a brown and a white paint reflect at 450 nm about what was measured', () => {
    // BabelColor average of many test charts, "dark skin" R(450) = 0.062 and "white 9.5" R(450) = 0.884; their Lab (D65) at 10 nm
    // computed from measured spectra: 37.972, 12.111, 13.690 and 96.507, −0.904, 2.601. Many spectra have one colour; the smoothest
    // one is held to 0.02 for the dark paint, 0.03 for the white one.
    const at450 = (lab: Lab) => smoothestSpectrum(xyzInTables(lab))[(450 - BAND_START_NM) / BAND_STEP_NM];
    expect(Math.abs(at450([37.972, 12.111, 13.69]) - 0.062)).toBeLessThan(0.02);
    expect(Math.abs(at450([96.507, -0.904, 2.601]) - 0.884)).toBeLessThan(0.03);
  });

  test('says so when no surface has the colour', () => {
    expect(() => smoothestSpectrum([0.1, 0.9, 0.1])).toThrow(RangeError);
  });
});

/** Lab of a spectrum inside the film, by hand: Saunderson, the colour tables, CIE L*a*b* relative to the tables' white. */
function labOfInside(inside: readonly number[]): Lab {
  const xyz = spectrumToXyz(inside.map((r) => 0.04 + (0.96 * 0.4 * r) / (1 - 0.6 * r)));
  const [fx, fy, fz] = xyz.map((value, k) => {
    const t = value / WHITE_XYZ[k];
    return t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29;
  });
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

/** Reflectance inside a film that looks like a colour, by hand. */
const insideOf = (lab: Lab): number[] =>
  Array.from(smoothestSpectrum(xyzInTables(lab)), (measured) => {
    const r = (measured - 0.04) / (1 - 0.04 - 0.6 + 0.6 * measured);
    return Math.min(0.999, Math.max(0.002, r));
  });

/**
 * Film over ground by transmitted and reflected light, R = R0 + T² Rg / (1 − R0 Rg) with R0 = sinh(bSX)/D, T = b/D and
 * D = a sinh(bSX) + b cosh(bSX): another form of the solution than the one under test.
 */
function cover(opaque: readonly number[], scattering: number, um: number, ground: readonly number[], extra = 0) {
  return opaque.map((r, i) => {
    const bandExtra = extra > 0 ? scorchAbsorption(extra, BAND_START_NM + i * BAND_STEP_NM) / scattering : 0;
    const a = 1 + (1 - r) ** 2 / (2 * r) + bandExtra;
    const b = Math.sqrt(a * a - 1);
    const x = (b * scattering * um) / 1000;
    const d = a * Math.sinh(x) + b * Math.cosh(x);
    const r0 = Math.sinh(x) / d;
    const t = b / d;
    return r0 + (t * t * ground[i]) / (1 - r0 * ground[i]);
  });
}

describe('appearance table of the default stack', () => {
  const [top, under] = DEFAULT_STACK.coats;
  const table = buildAppearance(DEFAULT_STACK, LIME);
  const wood = insideOf(LIME.colorLab);
  const opened = cover(insideOf(under.colorLab), under.scatteringPerMm, under.dryThicknessUm, wood);
  const covered = (residueUm: number) => cover(insideOf(top.colorLab), top.scatteringPerMm, residueUm, opened);

  test('unburned, a coat that hides looks like itself', () => {
    // The dark coat hides: what shines through is less than 0.6 of a just noticeable difference.
    expect(colorDifference(appearanceLab(table, 0, top.dryThicknessUm), top.colorLab)).toBeLessThan(0.6);
    // At twice the thickness nothing shines through; what is left is the table's own white against D65.
    expect(colorDifference(appearanceLab(table, 0, 2 * top.dryThicknessUm), top.colorLab)).toBeLessThan(0.1);
  });

  test('opened, it looks like the undercoat over the wood', () => {
    // Same equations written another way; the table stores single precision.
    expect(colorDifference(appearanceLab(table, 0, 0), labOfInside(opened))).toBeLessThan(0.01);
    expect(colorDifference(appearanceLab(table, 1, under.dryThicknessUm), labOfInside(opened))).toBeLessThan(0.2);
    expect(colorDifference(appearanceLab(table, 2, 0), LIME.colorLab)).toBeLessThan(0.01);
  });

  test('the more residue, the darker; the less undercoat, the nearer to wood', () => {
    let last = 101;
    for (let um = 0; um <= 2 * top.dryThicknessUm; um += 0.05) {
      const [l] = appearanceLab(table, 0, um);
      expect(l).toBeLessThanOrEqual(last + 1e-5);
      last = l;
    }
    expect(last).toBeLessThan(31);
    let far = -1;
    for (let um = 0; um <= under.dryThicknessUm; um += 1) {
      const away = colorDifference(appearanceLab(table, 1, um), LIME.colorLab);
      expect(away).toBeGreaterThanOrEqual(far - 1e-5);
      far = away;
    }
  });

  test('the nearest column is within 0.4 of direct computing', () => {
    // Columns lie √-spaced, 511 steps to twice the thickness: at 1 µm half a step is 0.014 µm, and 16 L* a µm make 0.22 L*; the slope
    // is steepest at nothing left, where half a step is 5e-5 µm.
    let worst = 0;
    const random = createGenerator(32);
    for (let i = 0; i < 400; i++) {
      const um = 1.6 * top.dryThicknessUm * random.nextUnit() ** 2;
      worst = Math.max(worst, colorDifference(appearanceLab(table, 0, um), labOfInside(covered(um))));
    }
    expect(worst).toBeLessThan(0.4);
    expect(worst).toBeGreaterThan(0);
  });

  test('scorch: the nearest row is within 2.5 of direct computing, and more dose never lightens', () => {
    // 24 rows √-spaced to 12 onsets: level = 1 − exp(−(12u² − 1)/3) has its steepest slope 2.4 near u = 0.4, so half a row is 0.05 of the
    // level; where yellowing begins that adds up to 4 per mm of absorption to a white of S = 100, a ΔE00 of two.
    let worst = 0;
    const full = (12 * under.scorchOnsetJPerMm2) / under.absorptance;
    let last = 101;
    for (let i = 0; i <= 300; i++) {
      const excess = (full * i) / 300;
      const level = scorchLevel(under.absorptance * excess, under.scorchOnsetJPerMm2);
      const direct = labOfInside(
        cover(insideOf(under.colorLab), under.scatteringPerMm, under.dryThicknessUm, wood, level),
      );
      const looked = appearanceLab(table, 0, 0, excess);
      worst = Math.max(worst, colorDifference(looked, direct));
      expect(looked[0]).toBeLessThanOrEqual(last + 1e-5);
      last = looked[0];
    }
    expect(worst).toBeLessThan(2.5);
  });

  test('burned wood follows the char scale and ends dark', () => {
    let last = 101;
    for (let um = 0; um <= 400; um += 0.5) {
      const [l] = appearanceLab(table, 2, um);
      expect(l).toBeLessThanOrEqual(last + 1e-4);
      last = l;
    }
    // Kubovský, Kačík & Veľková, BioResources 13(2) 2515–2529 (2018): lime loses 50.5 L* at the highest dose. Wood of L* 82 ends at
    // 31.5; the spectrum of so dark a surface is clipped at the mirror reflection, which costs a little.
    expect(Math.abs(last - (LIME.colorLab[0] - 50.5))).toBeLessThan(0.5);
    expect(charredWood(LIME.colorLab, 1)[0]).toBeCloseTo(31.5, 9);
    expect(charredWood(LIME.colorLab, 0)[0]).toBe(82);
  });

  test('the residue table of a dark coat over white, in colour: about 16 L* for the first micrometre', () => {
    const drop = appearanceLab(table, 0, 0)[0] - appearanceLab(table, 0, 1)[0];
    expect(drop).toBeGreaterThan(10);
    expect(drop).toBeLessThan(22);
  });
});

describe('appearance of other stacks', () => {
  const wood: Wood = LIME;

  test('a pure white coat and a black one can be had', () => {
    for (const hex of ['#ffffff', '#000000', '#ffff66', '#00004d']) {
      const coat = { ...DEFAULT_UNDERCOAT, colorLab: hexToLab(hex), scatteringPerMm: 1000, dryThicknessUm: 1000 };
      const table = buildAppearance({ ...DEFAULT_STACK, coats: [DEFAULT_TOP_COAT, coat] }, wood);
      // The mirror reflection of 4 % is the darkest a glossy film can be; only the white one can be asked for as it is.
      if (hex === '#ffffff') expect(colorDifference(appearanceLab(table, 0, 0), coat.colorLab)).toBeLessThan(0.5);
      expect(appearanceLab(table, 0, 0).every(Number.isFinite)).toBe(true);
    }
  });

  test('bare wood is wood', () => {
    const table = buildAppearance({ ...DEFAULT_STACK, coats: [] }, wood);
    expect(colorDifference(appearanceLab(table, 0, 0), wood.colorLab)).toBeLessThan(0.01);
    expect(burnDirection({ ...DEFAULT_STACK, coats: [] }, wood)).toBe('darkens');
  });

  test('one dark coat over wood opens to wood', () => {
    const stack: Stack = { ...DEFAULT_STACK, coats: [DEFAULT_TOP_COAT] };
    const table = buildAppearance(stack, wood);
    expect(colorDifference(appearanceLab(table, 0, 0), wood.colorLab)).toBeLessThan(0.01);
    expect(burnDirection(stack, wood)).toBe('lightens');
  });

  test('a light coat over dark wood darkens; a light one over a dark one too', () => {
    const dark: Wood = { ...wood, colorLab: [35, 8, 12] };
    expect(burnDirection({ ...DEFAULT_STACK, coats: [DEFAULT_UNDERCOAT] }, dark)).toBe('darkens');
    expect(burnDirection({ ...DEFAULT_STACK, coats: [DEFAULT_UNDERCOAT, DEFAULT_TOP_COAT] }, wood)).toBe('darkens');
    expect(burnDirection(DEFAULT_STACK, wood)).toBe('lightens');
  });

  test('three coats: opened ones are told by hand-written films too', () => {
    const middle = { ...DEFAULT_UNDERCOAT, colorLab: [60, -4, 20] as Lab, scatteringPerMm: 40, dryThicknessUm: 20 };
    const stack: Stack = { ...DEFAULT_STACK, coats: [DEFAULT_TOP_COAT, middle, DEFAULT_UNDERCOAT] };
    const table = buildAppearance(stack, wood);
    const bottom = cover(
      insideOf(DEFAULT_UNDERCOAT.colorLab),
      DEFAULT_UNDERCOAT.scatteringPerMm,
      DEFAULT_UNDERCOAT.dryThicknessUm,
      insideOf(wood.colorLab),
    );
    const half = cover(insideOf(middle.colorLab), 40, 20, bottom);
    expect(colorDifference(appearanceLab(table, 0, 0), labOfInside(half))).toBeLessThan(0.01);
    expect(colorDifference(appearanceLab(table, 1, 0), labOfInside(bottom))).toBeLessThan(0.01);
    const [r, g, b] = intactRgb(table, stack);
    expect(r).toBeGreaterThan(b);
    expect(g).toBeGreaterThan(0);
    expect(table.coats).toBe(3);
  });

  test('there are as many bands as wavelengths', () => expect(insideOf(wood.colorLab)).toHaveLength(BAND_COUNT));
});
