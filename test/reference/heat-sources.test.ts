import { describe, expect, test } from 'vitest';
import {
  gravityAtMoisture,
  type HeatedGround,
  spreadLineRise,
  woodThermal,
} from '../../src/physics/heat/heat-sources.ts';
import { lineSourcePeak, lineSourceRise, movingPointRise, surfaceFluxRise } from '../helpers/textbook.ts';

/**
 * Heat sources on a half-space: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, §2.9, §10.2 and §10.3, and
 * D. Rosenthal 1946 (values from memory; here the equations are checked against each other and against conduction itself). Numbers
 * were computed from the equations by a separate program in SI; half a unit of their last digit is the tolerance.
 */
const printed = (digits: number): number => 0.51 * 10 ** -digits;
/** From k in W/(m K) and κ in m²/s. */
const ground = (conductivity: number, diffusivity: number): HeatedGround => ({
  conductivityWPerMmK: conductivity / 1000,
  diffusivityMm2PerS: diffusivity * 1e6,
});
const jPerMToJPerMm = (value: number): number => value / 1000;
/** k = 0.1 W/(m K), κ = 2e-7 m²/s, so ρc = 5e5 J/(m³ K). */
const PLAIN = ground(0.1, 2e-7);
/** Basswood at 8 % moisture: basic specific gravity 0.32, volumetric shrinkage 15.8 % (value of trade tables). */
const BASSWOOD = woodThermal(1000 * gravityAtMoisture(0.32, 15.8, 8) * 1.08, 8);
/** Acrylic paint: k 0.2 W/(m K) (trade value), κ 1.1e-7 m²/s, in the range of Coelho et al., J. Phys. IV France 125 (2005) 519–522. */
const PAINT = ground(0.2, 1.1e-7);

describe('line source', () => {
  test('Q′ 100 J/m after 1 s, on the row and 0.5 mm beside it', () => {
    expect(Math.abs(lineSourceRise(PLAIN, jPerMToJPerMm(100), 0, 1) - 159.154943)).toBeLessThan(printed(6));
    expect(Math.abs(lineSourceRise(PLAIN, jPerMToJPerMm(100), 0.5, 1) - 116.440244)).toBeLessThan(printed(6));
  });

  test('its maximum at 0.5 mm is 187.36 K at 0.3125 s, and it is the maximum', () => {
    const { timeS, riseK } = lineSourcePeak(PLAIN, jPerMToJPerMm(100), 0.5);
    expect(timeS).toBeCloseTo(0.3125, 12);
    expect(Math.abs(riseK - 187.36)).toBeLessThan(printed(2));
    const at = (share: number) => lineSourceRise(PLAIN, jPerMToJPerMm(100), 0.5, share * timeS);
    expect(at(1)).toBeCloseTo(riseK, 9);
    for (const share of [0.9, 0.99, 1.01, 1.1]) expect(at(share)).toBeLessThan(riseK);
  });

  test.each([
    [0.5, 138.205],
    [1, 70.119],
    [2, 35.317],
    [5, 14.189],
  ])('basswood, 4.5 W taken up at 100 mm/s, 0.1 mm beside the row after %f s', (timeS, riseK) => {
    expect(Math.abs(lineSourceRise(BASSWOOD, 4.5 / 100, 0.1, timeS) - riseK)).toBeLessThan(printed(3));
  });

  test('cooling from 800 to 500 °C behind 1000 J/mm in k = 45 W/(m K), from 25 °C, takes 2.882263 s', () => {
    // `t8/5 = q/(2πk)·[1/(500 − T0) − 1/(800 − T0)]`, formula and constants as on a public calculator of weld cooling.
    const steel = ground(45, 1.25e-5);
    const rise = (timeS: number) => lineSourceRise(steel, 1000, 0, timeS);
    const at800 = 1000 / (2 * Math.PI * 0.045 * 775);
    expect(rise(at800)).toBeCloseTo(775, 9);
    // Slope there is 475 K over 7.4 s: half a unit of the sixth decimal is 3e-5 K.
    expect(Math.abs(rise(at800 + 2.882263) - 475)).toBeLessThan(4e-5);
  });

  test('what was left behind is still there: ρc·∫ΔT over the half-plane is Q′', () => {
    for (const timeS of [0.05, 2]) {
      const step = 0.01 * Math.sqrt(4 * PLAIN.diffusivityMm2PerS * timeS);
      let sum = 0;
      for (let i = 0; i < 1200; i++) {
        const r = (i + 0.5) * step;
        sum += lineSourceRise(PLAIN, 0.1, r, timeS) * Math.PI * r * step;
      }
      // The midpoint rule is off by step²/24 times the integrand's slope at r = 0, here a share of 0.01²/12 = 8.4e-6.
      const kept = (sum * PLAIN.conductivityWPerMmK) / PLAIN.diffusivityMm2PerS;
      expect(Math.abs(kept / 0.1 - 1)).toBeLessThan(1e-5);
    }
  });
});

describe('line laid by a Gaussian beam', () => {
  test('is the line source once the heat has spread far beyond the beam, and as the beam narrows', () => {
    for (const [across, below] of [
      [0, 0],
      [0.3, 0],
      [0.1, 0.2],
    ]) {
      const r = Math.hypot(across, below);
      expect(spreadLineRise(PLAIN, 0.1, 0, across, below, 0.4)).toBeCloseTo(lineSourceRise(PLAIN, 0.1, r, 0.4), 9);
      // w²/4 = 0.0025 mm² against 2κt = 4 mm² in the square root: 0.03 %.
      const late = spreadLineRise(PLAIN, 0.1, 0.1, across, below, 10) / lineSourceRise(PLAIN, 0.1, r, 10);
      expect(Math.abs(late - 1)).toBeLessThan(4e-4);
    }
  });

  test('obeys conduction, ∂T/∂t = κ (∂²T/∂y² + ∂²T/∂z²), and lets nothing out at the surface', () => {
    const rise = (y: number, z: number, t: number) => spreadLineRise(PLAIN, 0.1, 0.1, y, z, t);
    const h = 1e-3;
    const dt = 1e-5;
    for (const [y, z, t] of [
      [0.02, 0.03, 0.004],
      [0.1, 0.05, 0.02],
      [0.3, 0.2, 0.2],
    ]) {
      const inTime = (rise(y, z, t + dt) - rise(y, z, t - dt)) / (2 * dt);
      const curvature = (rise(y + h, z, t) + rise(y - h, z, t) + rise(y, z + h, t) + rise(y, z - h, t)) / (h * h);
      const conducted = PLAIN.diffusivityMm2PerS * (curvature - (4 / (h * h)) * rise(y, z, t));
      // Central differences: relative error about h²/(12·4κt), at most 3e-4 of the terms that nearly cancel.
      const scale = rise(y, z, t) / t;
      expect(Math.abs(inTime - conducted)).toBeLessThan(2e-3 * scale);
    }
    expect(Math.abs(rise(0.05, 1e-6, 0.01) / rise(0.05, 0, 0.01) - 1)).toBeLessThan(1e-9);
  });

  test('just behind the beam the surface carries the dose of the row: ρc·∫ΔT dz = D(y)', () => {
    const timeS = 1e-5;
    const step = 1e-5;
    for (const y of [0, 0.04]) {
      let sum = 0;
      for (let i = 0; i < 4000; i++) sum += spreadLineRise(PLAIN, 0.1, 0.1, y, (i + 0.5) * step, timeS) * step;
      const dose = ((Math.sqrt(2 / Math.PI) * 0.1) / 0.1) * Math.exp(-2 * (y / 0.1) ** 2);
      // 2κt = 4e-6 mm² against w²/4 = 2.5e-3: the spread so far is 0.1 %.
      expect(Math.abs((sum * PLAIN.conductivityWPerMmK) / PLAIN.diffusivityMm2PerS / dose - 1)).toBeLessThan(2e-3);
    }
  });
});

describe('standing flux and moving point', () => {
  test('1 W/mm² for 1 ms on k = 0.1 W/(m K), ρc = 5e5 J/(m³ K): 159.576912 K', () => {
    expect(Math.abs(surfaceFluxRise(PLAIN, 1, 0.001) - 159.576912)).toBeLessThan(printed(6));
  });

  test('a flux is a row of instantaneous plane sources: ∫ q″/(ρc √(πκs)) ds', () => {
    const { conductivityWPerMmK: k, diffusivityMm2PerS: kappa } = PLAIN;
    // s = u², which takes the singular root away and leaves a constant.
    const end = Math.sqrt(0.02);
    let sum = 0;
    for (let i = 0; i < 10; i++) sum += ((2 * kappa) / (k * Math.sqrt(Math.PI * kappa))) * (end / 10);
    expect(surfaceFluxRise(PLAIN, 1, 0.02)).toBeCloseTo(sum, 9);
  });

  test('10 mm behind 800 W in k = 45 W/(m K): 282.9421 K at any feed', () => {
    for (const feed of [0.5, 5, 100]) {
      expect(Math.abs(movingPointRise(ground(45, 1.25e-5), 800, feed, -10, 0) - 282.9421)).toBeLessThan(printed(4));
    }
  });

  test('behind the point the row is the line source at t = R/v', () => {
    for (const behind of [0.2, 1, 7]) {
      const point = movingPointRise(BASSWOOD, 4.5, 100, -behind, 0);
      expect(point / lineSourceRise(BASSWOOD, 4.5 / 100, 0, behind / 100)).toBeCloseTo(1, 12);
    }
    // Ahead of a fast point it is still cold.
    expect(movingPointRise(BASSWOOD, 4.5, 100, 0.2, 0)).toBeLessThan(1e-9);
  });

  test('beside the point, far behind it, likewise', () => {
    const point = movingPointRise(PLAIN, 4.5, 100, -50, 0.3);
    // The line source neglects conduction along the row: of the order of (aside/behind)², 4e-5, and its effect on the exponent.
    expect(Math.abs(point / lineSourceRise(PLAIN, 4.5 / 100, 0.3, 0.5) - 1)).toBeLessThan(2e-4);
  });
});

describe('heat that earlier rows have left', () => {
  const preheat = (on: HeatedGround, rows: number): number => {
    let sum = 0;
    for (let n = 1; n <= rows; n++) sum += lineSourceRise(on, jPerMToJPerMm(90), 0.1 * n, 2.2 * n);
    return sum;
  };

  test('199 rows 0.1 mm and 2.2 s apart, 90 J/m each: 318 K on wood, 148 K on paint', () => {
    // To one kelvin, for wood of k = 0.1 W/(m K) and κ = 1.7e-7 m²/s; basswood by the handbook's equations is at 316.15 K.
    expect(Math.abs(preheat(ground(0.1, 1.7e-7), 199) - 318)).toBeLessThan(0.51);
    expect(Math.abs(preheat(PAINT, 199) - 148)).toBeLessThan(0.51);
    expect(Math.abs(preheat(BASSWOOD, 199) - 316.149)).toBeLessThan(printed(3));
  });

  test('grows like the logarithm of the number of rows', () => {
    const doubling = [12, 24, 48].map((rows) => preheat(BASSWOOD, 2 * rows) - preheat(BASSWOOD, rows));
    // Q′/(2πk·2.2 s)·ln 2 per doubling, less what the distance takes off.
    const perDoubling = (0.09 * Math.LN2) / (2 * Math.PI * BASSWOOD.conductivityWPerMmK * 2.2);
    for (const gain of doubling) {
      expect(gain).toBeLessThan(perDoubling);
      expect(gain).toBeGreaterThan(0.6 * perDoubling);
    }
  });
});
