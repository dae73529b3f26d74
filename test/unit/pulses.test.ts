import { describe, expect, test } from 'vitest';
import { biteUm, clearingDose } from '../../src/burn/kernel/burn.kernel.ts';
import { incubated, pulsedCrossing } from '../../src/physics/material/layers.ts';
import { DEFAULT_MACHINE } from '../../src/piece/defaults.ts';
import { pulseDepthUm } from '../helpers/textbook.ts';

const pulsed = (rateHz: number, incubation = 1) => ({
  ...DEFAULT_MACHINE.source,
  pulses: { rateHz, incubation, depthPerPulseUm: 0.8 },
});

describe('pulsed light', () => {
  test('one pulse: the logarithmic law’s printed numbers', () => {
    // Computed from the law in test/reference's source list: 1/α = 10 µm, F = 2, Fth = 0.5.
    expect(pulseDepthUm(10, 2, 0.5)).toBeCloseTo(13.862944, 6);
    expect(pulseDepthUm(10, 0.5, 0.5)).toBe(0);
    expect(incubated(10, 0.85)).toBeCloseTo(0.707946, 6);
    expect(incubated(0.2, 0.85)).toBe(1);
  });

  test('a crossing in closed form is the sum over its pulses', () => {
    const radius = 0.05;
    const feed = 100;
    const threshold = 0.004;
    for (const rateHz of [8000, 20000, 90000]) {
      for (const peak of [0.005, 0.009, 0.03]) {
        const spacing = feed / rateHz;
        let dose = 0;
        let depth = 0;
        for (let n = -400; n <= 400; n++) {
          const fluence = peak * Math.exp(-2 * ((n + 0.3) * (spacing / radius)) ** 2);
          dose += fluence;
          depth += pulseDepthUm(0.8, fluence, threshold);
        }
        const crossing = pulsedCrossing(pulsed(rateHz), radius, feed);
        const closed = biteUm(dose, 1, threshold * (crossing?.thresholdFactor ?? 0), 1, 1e6, crossing?.depthUm ?? 0, 0);
        // Four pulses a radius and more: the integral is within 3 % of the sum, or a twentieth of a pulse's depth.
        expect(Math.abs(closed - depth)).toBeLessThan(0.03 * depth + 0.04);
      }
    }
  });

  test('what clears a film is what takes just that film', () => {
    for (const left of [0.5, 3, 25]) {
      const dose = clearingDose(0.1, 12, left, 3.5);
      expect(biteUm(dose, 1, 0.1, 12, 1e6, 3.5, 0)).toBeCloseTo(left, 4);
      expect(biteUm(clearingDose(0.1, 12, left, 0), 1, 0.1, 12, 1e6, 0, 0)).toBeCloseTo(left, 6);
    }
  });

  test('incubation lowers the threshold of a crossing; continuous light has none of this', () => {
    const plain = pulsedCrossing(pulsed(20000), 0.05, 100);
    const tired = pulsedCrossing(pulsed(20000, 0.85), 0.05, 100);
    // 2w·f/v = 20 pulses.
    expect((tired?.thresholdFactor ?? 0) / (plain?.thresholdFactor ?? 1)).toBeCloseTo(20 ** -0.15, 9);
    expect(pulsedCrossing(DEFAULT_MACHINE.source, 0.05, 100)).toBeNull();
  });
});
