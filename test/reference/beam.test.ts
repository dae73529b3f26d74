import { describe, expect, test } from 'vitest';
import { degToRad } from '../../src/base/units.ts';
import {
  halfAngleRad,
  lineDose,
  peakFluence,
  radiiForHeading,
  radiusAtMm,
  rayleighLengthMm,
} from '../../src/physics/beam/gaussian.ts';
import { pulseMarkDiameterMm } from '../../src/physics/material/layers.ts';
import {
  bandDose,
  focusedDiameterMm,
  jPerCm2ToJPerMm2,
  lineMarkWidthMm,
  peakIntensity,
  rasterDose,
} from '../helpers/textbook.ts';

/**
 * Gaussian beams. Equations are textbook ones (value from memory: I0 = 2P/(πw²), D(y) = √(2/π)·P/(vw)·exp(−2y²/w²),
 * w(z)² = w0² + (M²λ/(πw0))²z²; propagation ratio as in ISO 11146-1, value from memory). Numbers were computed from
 * these equations by a separate program and are printed to seven digits: half a unit of the last digit is the tolerance.
 */
describe('numbers computed from the textbook equations', () => {
  test('peak intensity, peak fluence, peak line dose', () => {
    expect(peakIntensity(10, 0.05)).toBeCloseTo(2546.479, 3);
    expect(peakFluence(50e-6, 0.03)).toBeCloseTo(jPerCm2ToJPerMm2(3.536777), 8);
    expect(lineDose(10, 100, 0.05)).toBeCloseTo(1.595769, 6);
  });

  test('an elliptical spot: scanned along x the radius across counts, and the other way round', () => {
    expect(peakIntensity(10, 0.04, 0.06)).toBeCloseTo(2652.582, 3);
    const alongX = radiiForHeading(0.04, 0.06, 0);
    const alongY = radiiForHeading(0.04, 0.06, degToRad(90));
    expect(lineDose(10, 100, alongX.acrossMm)).toBeCloseTo(1.329808, 6);
    expect(lineDose(10, 100, alongY.acrossMm)).toBeCloseTo(1.994711, 6);
    expect(alongY.alongMm).toBeCloseTo(0.06, 12);
    // A round spot looks the same from every side.
    for (const heading of [10, 45, 123, 300]) {
      expect(radiiForHeading(0.05, 0.05, degToRad(heading)).acrossMm).toBeCloseTo(0.05, 12);
    }
    // Half-way between the axes the second moments are averaged.
    expect(radiiForHeading(0.04, 0.06, degToRad(45)).acrossMm).toBeCloseTo(Math.sqrt((0.04 ** 2 + 0.06 ** 2) / 2), 12);
  });

  test('focus: Rayleigh length, radius off focus, half angle', () => {
    expect(rayleighLengthMm(0.025, 450, 5)).toBeCloseTo(0.872665, 6);
    expect(radiusAtMm(0.025, 450, 5, 1)).toBeCloseTo(0.0380224, 7);
    expect(radiusAtMm(0.025, 450, 5, -1)).toBe(radiusAtMm(0.025, 450, 5, 1));
    expect(halfAngleRad(0.025, 450, 5)).toBeCloseTo(0.028648, 6);
    // At one Rayleigh length the radius is √2 of the waist, by definition.
    expect(radiusAtMm(0.025, 450, 5, rayleighLengthMm(0.025, 450, 5))).toBeCloseTo(0.025 * Math.SQRT2, 12);
  });

  test('spot behind a lens', () => {
    expect(focusedDiameterMm(10600, 1.2, 50.8, 7)).toBeCloseTo(0.117534, 6);
  });
});

describe('what follows from the profile', () => {
  const line = (y: number) => lineDose(10, 100, 0.05, y);

  test('the dose of a line adds up to the energy per length, P/v', () => {
    let sum = 0;
    for (let y = -0.5; y <= 0.5; y += 0.0005) sum += line(y) * 0.0005;
    // The trapezoid rule is exact to rounding for a function that has died away at both ends.
    expect(sum).toBeCloseTo(10 / 100, 9);
  });

  test('full width at half maximum is √(2 ln 2) radii', () => {
    expect(line(0.05 * 0.5 * Math.sqrt(2 * Math.LN2)) / line(0)).toBeCloseTo(0.5, 12);
    expect(Math.sqrt(2 * Math.LN2)).toBeCloseTo(1.17741, 5);
  });

  test('at one radius the dose has fallen to 1/e²', () => {
    expect(line(0.05) / line(0)).toBeCloseTo(Math.exp(-2), 12);
  });
});

/**
 * Ripple of an endless raster against p/w, largest and smallest dose over the mean and (max − min)/(max + min). Computed from the
 * Poisson sum of the line dose, cross-checked by brute force; printed to five decimals, hence half a unit of the fifth.
 */
const RIPPLE: readonly (readonly [number, number, number, number])[] = [
  [0.5, 1.0, 1.0, 0.0],
  [0.8, 1.0009, 0.9991, 0.0009],
  [1.0, 1.01438, 0.98562, 0.01438],
  [1.25, 1.085, 0.91501, 0.085],
  [1.5, 1.22342, 0.7772, 0.22304],
  [2.0, 1.59684, 0.43193, 0.5742],
  [2.5, 1.99473, 0.17528, 0.83845],
  [3.0, 2.39365, 0.05318, 0.95653],
];

describe('dose of a raster', () => {
  test('the mean is P/(v p)', () => {
    let sum = 0;
    const steps = 50;
    for (let i = 0; i < steps; i++) sum += rasterDose(10, 100, 0.1, 0.05, ((i + 0.5) / steps) * 0.1) / steps;
    expect(sum).toBeCloseTo(1, 12);
  });

  test.each(RIPPLE)('p/w = %f', (ratio, max, min, contrast) => {
    const w = 0.05;
    const p = ratio * w;
    const mean = 10 / (100 * p);
    const top = rasterDose(10, 100, p, w, 0) / mean;
    const bottom = rasterDose(10, 100, p, w, p / 2) / mean;
    expect(Math.abs(top - max)).toBeLessThanOrEqual(5.1e-6);
    expect(Math.abs(bottom - min)).toBeLessThanOrEqual(5.1e-6);
    expect(Math.abs((top - bottom) / (top + bottom) - contrast)).toBeLessThanOrEqual(5.1e-6);
  });

  test.each(RIPPLE)('p/w = %f by adding up many rows', (ratio) => {
    const w = 0.05;
    const p = ratio * w;
    for (const share of [0, 0.1, 0.25, 0.5, 0.77, 1]) {
      let sum = 0;
      for (let row = -80; row <= 80; row++) sum += lineDose(10, 100, w, (share - row) * p);
      // Both sums are exact; what is left is rounding.
      expect(Math.abs(rasterDose(10, 100, p, w, share * p) / sum - 1)).toBeLessThan(1e-12);
    }
  });

  test('the first harmonic is the ripple while rows overlap well: 2 exp(−π²w²/(2p²))', () => {
    for (const ratio of [0.8, 1, 1.25]) {
      const amplitude = 2 * Math.exp(-(Math.PI ** 2) / (2 * ratio ** 2));
      const top = rasterDose(1, 1, ratio, 1, 0) * ratio - 1;
      // The second harmonic is the first one's fourth power, over 8.
      expect(Math.abs(top - amplitude)).toBeLessThan(1.1 * 2 * (amplitude / 2) ** 4);
    }
  });
});

/**
 * Dose of a scanned band: Acta Facultatis Xylologiae Zvolen 61(1), 2019 (beech wood modified by a CO2 laser), eq. (1) and Table 1:
 * 45 W, beam 10 mm wide on the surface. Printed to 0.1 J/cm², hence half a unit; the entry at 18 mm/s is printed as 25.5 where
 * its own equation gives 25.0 and is held to 2.1 % instead.
 */
describe('scanned dose, Acta Facultatis Xylologiae Zvolen 61(1), 2019, Table 1', () => {
  test.each([
    [58, 7.8],
    [42, 10.7],
    [36, 12.5],
    [30, 15.0],
    [24, 18.8],
    [12, 37.5],
    [6, 75.0],
  ])('%d mm/s', (feed, printed) => {
    expect(Math.abs(bandDose(45, 10, feed) - jPerCm2ToJPerMm2(printed))).toBeLessThanOrEqual(
      jPerCm2ToJPerMm2(0.05) + 1e-12,
    );
  });

  test('18 mm/s, misprinted', () => {
    expect(Math.abs(bandDose(45, 10, 18) / jPerCm2ToJPerMm2(25.5) - 1)).toBeLessThan(0.021);
    expect(bandDose(45, 10, 18)).toBeCloseTo(0.25, 12);
  });
});

/**
 * J. M. Liu, Opt. Lett. 7, 196 (1982) (value from memory): D² = 2 w0² ln(F0/Fth). Method as in M. Garcia-Lechuga and D. Grojo, Open
 * Research Europe 1:7 (2021). Numbers computed from the equation.
 */
describe('width of a mark', () => {
  test('of a pulse', () => {
    const threshold = jPerCm2ToJPerMm2(0.5);
    expect(pulseMarkDiameterMm(0.03, peakFluence(50e-6, 0.03), threshold)).toBeCloseTo(0.0593418, 7);
    expect(pulseMarkDiameterMm(0.03, threshold, threshold)).toBe(0);
    expect(pulseMarkDiameterMm(0.03, 0.9 * threshold, threshold)).toBe(0);
  });

  test('D² over ln E is a line of slope 2 w0² that meets zero at the threshold energy', () => {
    const squared = (pulseJ: number) => pulseMarkDiameterMm(0.03, peakFluence(pulseJ, 0.03), 0.005) ** 2;
    const slope = (squared(80e-6) - squared(20e-6)) / Math.log(4);
    expect(slope).toBeCloseTo(2 * 0.03 ** 2, 12);
    const thresholdJ = 20e-6 * Math.exp(-squared(20e-6) / slope);
    expect(peakFluence(thresholdJ, 0.03)).toBeCloseTo(0.005, 12);
  });

  test('of a line: its width is where the line dose falls to the threshold', () => {
    const width = lineMarkWidthMm(0.05, 1.595769, 0.05);
    expect(width).toBeCloseTo(0.131588, 6);
    expect(lineDose(10, 100, 0.05, width / 2)).toBeCloseTo(0.05, 6);
  });
});
