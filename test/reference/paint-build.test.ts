import { describe, expect, test } from 'vitest';
import { levellingTimeS } from '../../src/physics/film/laid-film.ts';
import {
  dryFromWetUm,
  type FanProfile,
  fanMean,
  spreadingRateM2PerL,
  strokeOverlap,
  wetForDryUm,
} from '../../src/physics/film/spray-fan.ts';

/** Exact by definition: 1 mil is 25.4 µm, a US gallon 231 in³, a foot 12 in. */
const UM_PER_MIL = 25.4;
const L_PER_GALLON = 231 * 0.254 ** 3;
const M2_PER_FT2 = (12 * 0.0254) ** 2;
const ft2PerGallon = (dryMil: number, volumeSolids: number): number =>
  (spreadingRateM2PerL(dryMil * UM_PER_MIL, volumeSolids) * L_PER_GALLON) / M2_PER_FT2;
const dryMil = (wetMil: number, volumeSolids: number, thinnerShare = 0): number =>
  dryFromWetUm(wetMil * UM_PER_MIL, volumeSolids, thinnerShare) / UM_PER_MIL;

/** What is printed from 1604 ft²/gal at 1 mil instead of 1604.17 is low by this share. */
const ROUNDED_1604 = 1604.1667 / 1604 - 1;

/** Within a tolerance, both ends allowed. */
function expectWithin(value: number, printed: number, tolerance: number): void {
  expect(Math.abs(value - printed), `${value} for ${printed}`).toBeLessThanOrEqual(tolerance + 1e-9);
}

describe('printed spreading rates and film thicknesses', () => {
  test('a gallon spreads over 1604.17 ft² at 1 mil', () => {
    // Computed from the definitions of the units: 231 in³ over 0.001 in.
    expect(ft2PerGallon(1, 1)).toBeCloseTo(231_000 / 144, 9);
  });

  test('"Theoretical spreading rate/coverage" (scribd 343849341)', () => {
    expectWithin(ft2PerGallon(5, 0.65), 208.52, 0.005 + ROUNDED_1604 * 208.52);
    // The page's formula is misprinted "100×"; its text and its number use 1000.
    expectWithin(spreadingRateM2PerL(125, 0.65), 5.2, 0.05);
  });

  test('Technical Bulletin chart (scribd 104802451)', () => {
    [561, 281, 187, 140, 112].forEach((printed, i) => {
      expectWithin(ft2PerGallon(i + 1, 0.35), printed, 0.5);
    });
    expectWithin(ft2PerGallon(1, 0.5), 802, 0.5);
    expectWithin(ft2PerGallon(8, 1), 201, 0.5);
    expectWithin(dryMil(8, 0.35), 2.8, 0.05);
    // Thinned by 10 %: "35 %/110 % = 32 %". The page is garbled; 8.8 mil wet is the only consistent reading.
    expectWithin(100 * dryFromWetUm(1, 0.35, 0.1), 32, 0.5);
    expectWithin(dryMil(8.8, 0.35, 0.1), 2.8, 0.05);
    expectWithin(wetForDryUm(2.8 * UM_PER_MIL, 0.35, 0.1) / UM_PER_MIL, 8.8, 0.05);
  });

  test('wet film of 10 mil (geionline.com): 160.417 ft²/gal', () => {
    expectWithin(ft2PerGallon(10, 1), 160.417, 0.0005);
  });

  test('wet film for 100 µm dry at 65 % (example of leighspaints.com)', () => {
    // Its answer is a picture that was not seen; computed from WFT = DFT / VS.
    expectWithin(wetForDryUm(100, 0.65, 0), 153.85, 0.005);
  });

  test('vinyl-acrylic latex eggshell data sheet (abcdocz 328394): 37 ± 1 %', () => {
    expectWithin(ft2PerGallon(1, 0.37), 593, 0.5 + ROUNDED_1604 * 593);
    expectWithin(dryMil(4, 0.37), 1.5, 0.05);
    expectWithin(dryMil(5.3, 0.37), 2, 0.05);
  });

  test('DTM acrylic enamel data sheet: 32.6–39.6 %', () => {
    // The lower end, 522.96, is cut off, not rounded.
    expectWithin(ft2PerGallon(1, 0.326), 522, 1);
    expectWithin(ft2PerGallon(1, 0.396), 635, 0.5);
  });

  test('water-based acrylic eggshell (studylib 18565552): ≈33 %, 20–25 µm, ≈14 m²/L', () => {
    // Given "at 25 µm", where the arithmetic says 13.2; 14 is within the film's range (it is reached at 23.6 µm).
    expectWithin(spreadingRateM2PerL(25, 0.33), 14, 1);
    expect(spreadingRateM2PerL(25, 0.33)).toBeLessThan(14);
    expect(spreadingRateM2PerL(20, 0.33)).toBeGreaterThan(14);
  });

  test('modified alkyd enamel data sheet: 42–43 %', () => {
    // Printed in fives.
    expectWithin(ft2PerGallon(1, 0.42), 675, 2.5);
    expectWithin(ft2PerGallon(1, 0.43), 690, 2.5);
  });

  test('paintpro.net: 46 % and 56 % at 2.5 mil', () => {
    // Printed after cutting off twice: 1604 / 2.5 = 641, then the product; up to 1 + 0.67·VS low.
    expectWithin(ft2PerGallon(2.5, 0.46), 294, 1 + 0.67 * 0.46);
    expectWithin(ft2PerGallon(2.5, 0.56), 358, 1 + 0.67 * 0.56);
  });
});

describe('overlapping strokes of a fan', () => {
  /**
   * Computed from Σ q(x − m·s) by an independent summation, rounded to three digits: lowest and highest over the mean, and
   * coefficient of variation, at these overlaps. Half-way at 75 % the ellipses make (√15 + √7)/(2·π) = 1.03749. Profiles as in Mathematical Problems in Engineering 2016, article 9369047.
   */
  const OVERLAPS = [0.3, 0.5, 2 / 3, 0.75];
  const TABLE: Readonly<Record<FanProfile, readonly (readonly [number, number, number])[]>> = {
    uniform: [
      [0.7, 1.4, 0.346],
      [1, 1, 0],
      [1, 1, 0],
      [1, 1, 0],
    ],
    triangular: [
      [0.84, 1.4, 0.185],
      [1, 1, 0],
      [0.889, 1.111, 0.064],
      [1, 1, 0],
    ],
    parabolic: [
      [0.882, 1.071, 0.053],
      [0.75, 1.125, 0.112],
      [0.889, 1.056, 0.05],
      [0.938, 1.031, 0.028],
    ],
    elliptic: [
      [0.817, 1.273, 0.168],
      [0.637, 1.103, 0.105],
      [0.8, 1.057, 0.058],
      [0.87, 1.037, 0.038],
    ],
    gaussian: [
      [0.839, 1.161, 0.114],
      [0.986, 1.014, 0.01],
      [1, 1, 0],
      [1, 1, 0],
    ],
  };
  for (const [profile, rows] of Object.entries(TABLE)) {
    test(`${profile}: half a unit of the table's last digit`, () => {
      rows.forEach(([lowest, highest, spread], i) => {
        const found = strokeOverlap(profile as FanProfile, OVERLAPS[i]);
        expectWithin(found.lowest, lowest, 0.0005);
        expectWithin(found.highest, highest, 0.0005);
        expectWithin(found.spread, spread, 0.0005);
      });
    });
  }

  test('a parabolic fan is most even at 30 % overlap', () => {
    // "Coating uniformity with a uniform robotic spray gun velocity" (abstract; authors and year not shown): least variance of
    // thickness "about 0.0025 when the overlap was between 0.29 and 0.31". Taken over the square of the peak it computes to
    // 0.00258, which rounds to 0.0026: the tolerance is a unit of the printed digit. Only up to 50 % overlap, where no place gets
    // more than two strokes; three deep there is a lower minimum yet, at 59 %.
    let best = { overlap: 0, variance: Number.POSITIVE_INFINITY };
    for (let i = 0; i <= 500; i++) {
      const overlap = i / 1000;
      const meanOverPeak = fanMean('parabolic') / (1 - overlap);
      const variance = (strokeOverlap('parabolic', overlap).spread * meanOverPeak) ** 2;
      if (variance < best.variance) best = { overlap, variance };
    }
    expect(best.overlap).toBeGreaterThanOrEqual(0.29);
    expect(best.overlap).toBeLessThanOrEqual(0.31);
    expectWithin(best.variance, 0.0025, 0.0001);
  });

  test('50 % overlap, the usual instruction, is even for a triangular fan', () => {
    // The instruction: common practice, as in Goodheart-Willcox, Auto Collision Repair, p. 688. That it suits a triangular fan
    // follows from the sum of two straight flanks.
    const { lowest, highest, spread } = strokeOverlap('triangular', 0.5);
    expect(lowest).toBeCloseTo(1, 12);
    expect(highest).toBeCloseTo(1, 12);
    expect(spread).toBeCloseTo(0, 12);
  });
});

describe('levelling', () => {
  test('Orchard’s time in both forms', () => {
    // S. E. Orchard 1962 (value from memory) and, with λ/2π, S. Abbott, Practical Coatings, "Levelling"; the number is computed.
    const time = levellingTimeS({ viscosityPaS: 1, wavelengthMm: 2, tensionNPerM: 0.03, wetUm: 50 });
    expectWithin(time, 8.212786, 0.5e-6);
    expect(time).toBeCloseTo((3 * 1 * (2e-3 / (2 * Math.PI)) ** 4) / (0.03 * 50e-6 ** 3), 12);
  });

  test('proportional to viscosity and 1/tension, to λ⁴ and 1/h³', () => {
    // S. Abbott, same page: weakly on tension and viscosity, strongly on thickness, very strongly on wavelength.
    const film = { viscosityPaS: 0.4, wavelengthMm: 3, tensionNPerM: 0.028, wetUm: 80 };
    const time = levellingTimeS(film);
    expect(levellingTimeS({ ...film, viscosityPaS: 0.8 }) / time).toBeCloseTo(2, 12);
    expect(levellingTimeS({ ...film, tensionNPerM: 0.056 }) / time).toBeCloseTo(1 / 2, 12);
    expect(levellingTimeS({ ...film, wavelengthMm: 6 }) / time).toBeCloseTo(16, 12);
    expect(levellingTimeS({ ...film, wetUm: 160 }) / time).toBeCloseTo(1 / 8, 12);
  });
});
