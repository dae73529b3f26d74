import { describe, expect, test } from 'vitest';
import {
  conductivityAcross,
  densityAtMoisture,
  gravityAtMoisture,
  specificHeat,
  woodThermal,
} from '../../src/physics/heat/heat-sources.ts';

/**
 * Forest Products Laboratory, Wood handbook: wood as an engineering material, General Technical Report FPL-GTR-190, 2010, ch. 4.
 * Worked examples are those of the documentation of the chemics library (its modules for wood use the handbook's equations);
 * where a comment says so, numbers were computed from the equations by a separate program.
 */
describe('worked examples', () => {
  test('heat capacity at 12 %, 340 K is 1.91 kJ/(kg K), printed with its digits cut off', () => {
    expect(Math.floor(100 * specificHeat(12, 340)) / 100).toBe(1.91);
    expect(Math.abs(specificHeat(12, 340) - 1.914629)).toBeLessThan(5.1e-7);
  });

  test('conductivity of Gb 0.54, S0 12.3 % at 10 % is 0.1567 W/(m K), likewise', () => {
    const k = conductivityAcross(gravityAtMoisture(0.54, 12.3, 10), 10);
    expect(Math.floor(1e4 * k) / 1e4).toBe(0.1567);
    expect(Math.abs(k - 0.156722)).toBeLessThan(5.1e-7);
  });

  test('white ash, specific gravity 0.605 at 12 %: 678 kg/m³ (42.2 lb/ft³), the handbook’s own example of density', () => {
    expect(Math.round(densityAtMoisture(0.605, 12))).toBe(678);
    // Printed to 0.1 lb/ft³; 0.605 itself to half a unit of its third digit, 0.04 lb/ft³.
    expect(Math.abs(densityAtMoisture(0.605, 12) / 16.018463 - 42.2)).toBeLessThan(0.11);
  });

  test('moisture below fibre saturation swells wood, above it does nothing more', () => {
    expect(gravityAtMoisture(0.32, 15.8, 30)).toBe(0.32);
    expect(gravityAtMoisture(0.32, 15.8, 60)).toBe(0.32);
    expect(gravityAtMoisture(0.32, 15.8, 0)).toBeCloseTo(0.32 / (1 - 0.158), 12);
    expect(gravityAtMoisture(0.32, 15.8, 8)).toBeLessThan(gravityAtMoisture(0.32, 15.8, 4));
  });
});

/** Conductivities at 12 % as tabulated in the handbook, two digits; the specific gravities beside them are values from memory. */
describe('tabulated conductivity at 12 %', () => {
  test.each([
    ['basswood', 0.38, 0.11, 0.1109],
    ['beech', 0.68, 0.18, 0.1838],
    ['white oak', 0.72, 0.19, 0.1935],
    ['black cottonwood', 0.35, 0.1, 0.1036],
    ['yellow-poplar', 0.46, 0.13, 0.1304],
  ])('%s', (_, gravity, tabulated, computed) => {
    // Two printed digits.
    expect(Math.abs(conductivityAcross(gravity, 12) - tabulated)).toBeLessThanOrEqual(0.00501);
    expect(Math.abs(conductivityAcross(gravity, 12) - computed)).toBeLessThan(5.1e-5);
  });

  test('oven-dry basswood and beech, computed from eq. 4-15', () => {
    expect(Math.abs(conductivityAcross(0.38, 0) - 0.0924)).toBeLessThan(5.1e-5);
    expect(Math.abs(conductivityAcross(0.68, 0) - 0.1506)).toBeLessThan(5.1e-5);
  });
});

describe('heat capacity', () => {
  // To four digits computed from eqs. 4-16a to 4-18; to two digits as the handbook's table has them (value from memory).
  test.each([
    [0, 300, 1.2632, 1.3],
    [12, 300, 1.6632, 1.7],
    [0, 280, 1.1859, 1.2],
    [12, 280, 1.5375, 1.5],
    [8, 293.15, 1.5044, null],
  ])('%d %%, %f K', (moisture, kelvin, computed, tabulated) => {
    expect(Math.abs(specificHeat(moisture, kelvin) - computed)).toBeLessThan(5.1e-5);
    if (tabulated !== null) expect(Math.abs(specificHeat(moisture, kelvin) - tabulated)).toBeLessThan(0.0501);
  });

  test('water binds: moist wood takes up more than a mixture of wood and water', () => {
    for (const [moisture, kelvin] of [
      [8, 293],
      [12, 300],
      [20, 320],
    ]) {
      const mixture = (specificHeat(0, kelvin) + (4.18 * moisture) / 100) / (1 + moisture / 100);
      expect(specificHeat(moisture, kelvin)).toBeGreaterThan(mixture);
    }
  });
});

describe('numbers for the simulation', () => {
  test('basswood at 8 %: ρ 391 kg/m³, k 0.101 W/(m K), κ 1.71e-7 m²/s, computed by a separate program', () => {
    const density = densityAtMoisture(gravityAtMoisture(0.32, 15.8, 8), 8);
    expect(Math.abs(density - 390.9)).toBeLessThan(0.051);
    const thermal = woodThermal(density);
    expect(Math.abs(1000 * thermal.conductivityWPerMmK - 0.10066)).toBeLessThan(5.1e-6);
    expect(Math.abs(thermal.diffusivityMm2PerS - 0.17117)).toBeLessThan(5.1e-6);
    expect(Math.abs(thermal.volumetricHeatJPerMm3K - 5.8806e-4)).toBeLessThan(5.1e-9);
  });

  test('k = κ ρc, and the default moisture is 8 %', () => {
    for (const density of [380, 510, 710]) {
      const thermal = woodThermal(density, 12);
      expect(thermal.diffusivityMm2PerS * thermal.volumetricHeatJPerMm3K).toBeCloseTo(thermal.conductivityWPerMmK, 12);
      expect(woodThermal(density)).toEqual(woodThermal(density, 8));
    }
    // Heavier wood conducts better, but not in proportion, so it levels out heat more slowly.
    expect(woodThermal(710).conductivityWPerMmK).toBeGreaterThan(woodThermal(400).conductivityWPerMmK);
    expect(woodThermal(710).diffusivityMm2PerS).toBeLessThan(woodThermal(400).diffusivityMm2PerS);
  });
});
