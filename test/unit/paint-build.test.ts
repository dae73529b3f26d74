import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { levellingTimeS, unlevelledShare } from '../../src/physics/film/laid-film.ts';
import {
  dryFromAmountUm,
  dryFromWetUm,
  type FanProfile,
  fanMean,
  fanThickness,
  spreadingRateM2PerL,
  strokeOverlap,
  wetForDryUm,
} from '../../src/physics/film/spray-fan.ts';

const PROFILES: readonly FanProfile[] = ['uniform', 'triangular', 'parabolic', 'elliptic', 'gaussian'];

describe('paint build', () => {
  test('nothing applied dries to nothing; paint without solids too', () => {
    expect(dryFromWetUm(0, 0.4, 0)).toBe(0);
    expect(dryFromWetUm(100, 0, 0.1)).toBe(0);
    expect(wetForDryUm(0, 0.4, 0.2)).toBe(0);
    expect(spreadingRateM2PerL(30, 0)).toBe(0);
    expect(dryFromAmountUm(0, 100, 0.4, 0, 1)).toBe(0);
    expect(dryFromAmountUm(10, 100, 0.4, 0, 0)).toBe(0);
  });

  test('solids alone keep their thickness', () => {
    expect(dryFromWetUm(75, 1, 0)).toBe(75);
    expect(wetForDryUm(75, 1, 0)).toBe(75);
  });

  test('wet and dry are inverse; a litre covers as much as the spreading rate says', () => {
    const random = createGenerator(31);
    for (let i = 0; i < 50; i++) {
      const dry = 5 + 100 * random.nextUnit();
      const solids = 0.1 + 0.9 * random.nextUnit();
      const thinner = random.nextUnit();
      expect(dryFromWetUm(wetForDryUm(dry, solids, thinner), solids, thinner)).toBeCloseTo(dry, 10);
      const areaMm2 = spreadingRateM2PerL(dry, solids) * 1e6;
      expect(dryFromAmountUm(1000, areaMm2, solids, 0, 1)).toBeCloseTo(dry, 10);
      // Thinning a litre makes more of it but adds no solids.
      expect(dryFromAmountUm(1000 * (1 + thinner), areaMm2, solids, thinner, 1)).toBeCloseTo(dry, 10);
    }
  });

  test('6 mL on 200 mm × 300 mm are 100 µm wet; half lost, 40 % solids, 25 % thinner: 16 µm dry', () => {
    expect(dryFromAmountUm(6, 60_000, 1, 0, 1)).toBeCloseTo(100, 12);
    expect(dryFromAmountUm(6, 60_000, 0.4, 0.25, 0.5)).toBeCloseTo(16, 12);
  });

  test('values that make no sense', () => {
    for (const bad of [-1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => dryFromWetUm(bad, 0.4, 0)).toThrow(RangeError);
      expect(() => dryFromWetUm(100, bad, 0)).toThrow(RangeError);
      expect(() => dryFromWetUm(100, 0.4, bad)).toThrow(RangeError);
      expect(() => wetForDryUm(bad, 0.4, 0)).toThrow(RangeError);
      expect(() => wetForDryUm(30, bad, 0)).toThrow(RangeError);
      expect(() => wetForDryUm(30, 0.4, bad)).toThrow(RangeError);
      expect(() => spreadingRateM2PerL(bad, 0.4)).toThrow(RangeError);
      expect(() => spreadingRateM2PerL(30, bad)).toThrow(RangeError);
      expect(() => dryFromAmountUm(bad, 100, 0.4, 0, 1)).toThrow(RangeError);
      expect(() => dryFromAmountUm(1, bad, 0.4, 0, 1)).toThrow(RangeError);
      expect(() => dryFromAmountUm(1, 100, bad, 0, 1)).toThrow(RangeError);
      expect(() => dryFromAmountUm(1, 100, 0.4, bad, 1)).toThrow(RangeError);
      expect(() => dryFromAmountUm(1, 100, 0.4, 0, bad)).toThrow(RangeError);
    }
    expect(() => dryFromWetUm(100, 1.01, 0)).toThrow(RangeError);
    // A percentage where a share is meant.
    expect(() => spreadingRateM2PerL(30, 40)).toThrow('volume solids must be a share from 0 to 1, got 40');
    expect(() => wetForDryUm(30, 0, 0)).toThrow(RangeError);
    expect(() => spreadingRateM2PerL(0, 0.4)).toThrow(RangeError);
    expect(() => dryFromAmountUm(1, 0, 0.4, 0, 1)).toThrow(RangeError);
    expect(() => dryFromAmountUm(1, 100, 0.4, 0, 1.2)).toThrow(RangeError);
  });
});

describe.each(PROFILES)('%s fan', (profile) => {
  const reach = profile === 'gaussian' ? 1.25 : 0.5;

  test('is 1 in the middle, symmetric, never rises outwards, and 0 out of reach', () => {
    expect(fanThickness(profile, 0)).toBe(1);
    let last = 1;
    for (let offset = 0; offset < 1.5; offset += 0.01) {
      const here = fanThickness(profile, offset);
      expect(fanThickness(profile, -offset)).toBe(here);
      expect(here).toBeLessThanOrEqual(last);
      if (offset < reach) expect(here).toBeGreaterThan(0);
      last = here;
    }
    expect(fanThickness(profile, reach + 1e-9)).toBe(0);
    expect(fanThickness(profile, -reach - 1e-9)).toBe(0);
    expect(fanThickness(profile, Number.NEGATIVE_INFINITY)).toBe(0);
    expect(() => fanThickness(profile, Number.NaN)).toThrow(RangeError);
  });

  test('its mean is the integral', () => {
    // Midpoint rule after offset = reach·sin θ, which takes away the upright end of the ellipse.
    const steps = 20_000;
    let sum = 0;
    for (let i = 0; i < steps; i++) {
      const angle = (((i + 0.5) / steps) * Math.PI) / 2;
      sum += fanThickness(profile, reach * Math.sin(angle)) * Math.cos(angle);
    }
    expect((2 * reach * sum * Math.PI) / 2 / steps).toBeCloseTo(fanMean(profile), 8);
  });

  test('strokes add up as by brute force', () => {
    // Even steps over a period. They miss the foot of an ellipse by half a step, whose root is 1e-2, and the edge of a uniform
    // fan by as much, which is 1e-3 in its spread.
    const steps = 20_000;
    const extremesWithin = profile === 'elliptic' ? 2e-2 : 1e-3;
    const spreadWithin = profile === 'uniform' ? 1e-3 : 1e-4;
    for (const overlap of [0, 0.05, 0.1234, 0.29, 0.41, 0.5, 0.6, 0.72, 0.8, 0.93]) {
      const spacing = 1 - overlap;
      const strokes = Math.ceil(reach / spacing) + 1;
      let low = Number.POSITIVE_INFINITY;
      let high = 0;
      let sum = 0;
      let squares = 0;
      for (let i = 0; i < steps; i++) {
        const x = ((i + 0.5) / steps) * spacing;
        let thickness = 0;
        for (let m = -strokes; m <= strokes + 1; m++) thickness += fanThickness(profile, x - m * spacing);
        low = Math.min(low, thickness);
        high = Math.max(high, thickness);
        sum += thickness;
        squares += thickness * thickness;
      }
      const mean = sum / steps;
      const spread = Math.sqrt(Math.max(0, squares / steps / mean ** 2 - 1));
      const found = strokeOverlap(profile, overlap);
      expect(mean * spacing).toBeCloseTo(fanMean(profile), 4);
      expect(Math.abs(found.spread - spread)).toBeLessThan(spreadWithin);
      expect(Math.abs(found.lowest - low / mean)).toBeLessThan(extremesWithin);
      expect(Math.abs(found.highest - high / mean)).toBeLessThan(extremesWithin);
    }
  });

  test('the mean lies between the extremes, and many strokes are even', () => {
    for (let i = 0; i < 100; i++) {
      const { lowest, highest, spread } = strokeOverlap(profile, i / 100);
      expect(lowest).toBeGreaterThanOrEqual(0);
      expect(lowest).toBeLessThanOrEqual(1 + 1e-5);
      expect(highest).toBeGreaterThanOrEqual(1 - 1e-5);
      // A spread cannot exceed what extremes on both sides of the mean allow.
      expect(spread ** 2).toBeLessThanOrEqual((highest - 1) * (1 - lowest) + 1e-9);
    }
    expect(strokeOverlap(profile, 0.999).spread).toBeLessThan(1e-3);
  });

  test('overlaps that make no sense', () => {
    for (const bad of [-0.1, 1, 1.5, 50, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => strokeOverlap(profile, bad)).toThrow(RangeError);
    }
  });
});

describe('strokes side by side', () => {
  test('a uniform fan is flat, others go to nothing at the seams and to the fan’s peak', () => {
    expect(strokeOverlap('uniform', 0)).toEqual({ lowest: 1, highest: 1, spread: 0 });
    for (const profile of ['triangular', 'parabolic', 'elliptic'] as const) {
      const { lowest, highest } = strokeOverlap(profile, 0);
      expect(lowest).toBeCloseTo(0, 12);
      expect(highest).toBeCloseTo(1 / fanMean(profile), 12);
    }
  });

  test('spread from ∫q²: 1/√3, 1/√5 and √(32/(3π²) − 1)', () => {
    expect(strokeOverlap('triangular', 0).spread).toBeCloseTo(1 / Math.sqrt(3), 8);
    expect(strokeOverlap('parabolic', 0).spread).toBeCloseTo(1 / Math.sqrt(5), 8);
    expect(strokeOverlap('elliptic', 0).spread).toBeCloseTo(Math.sqrt(32 / (3 * Math.PI ** 2) - 1), 8);
  });

  test('a uniform fan is even only for whole numbers of strokes', () => {
    for (let n = 1; n <= 20; n++) {
      expect(strokeOverlap('uniform', 1 - 1 / n)).toEqual({ lowest: 1, highest: 1, spread: 0 });
    }
    const { lowest, highest } = strokeOverlap('uniform', 0.51);
    // A place has two strokes or three: a full stroke of difference.
    expect(highest / lowest).toBeCloseTo(3 / 2, 12);
  });

  test('a Gaussian fan’s ripple is that of its first harmonic', () => {
    // Poisson's sum: amplitude 2·exp(−π²/(8 s²)); the next harmonic is four times as deep in the exponent.
    for (const overlap of [0.4, 0.5]) {
      const ripple = 2 * Math.exp(-(Math.PI ** 2) / (8 * (1 - overlap) ** 2));
      expect(strokeOverlap('gaussian', overlap).spread).toBeCloseTo(ripple / Math.SQRT2, 4);
      expect(strokeOverlap('gaussian', overlap).highest).toBeCloseTo(1 + ripple, 3);
    }
  });
});

describe('levelling', () => {
  const film = { viscosityPaS: 1, wavelengthMm: 2, tensionNPerM: 0.03, wetUm: 50 };

  test('share left', () => {
    expect(unlevelledShare(0, 8)).toBe(1);
    expect(unlevelledShare(8, 8)).toBeCloseTo(1 / Math.E, 12);
    expect(unlevelledShare(1e9, 8)).toBe(0);
    expect(unlevelledShare(10, Number.POSITIVE_INFINITY)).toBe(1);
    // Open time in two parts levels as in one.
    expect(unlevelledShare(3, 8) * unlevelledShare(4, 8)).toBeCloseTo(unlevelledShare(7, 8), 12);
  });

  test('values that make no sense', () => {
    for (const bad of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      for (const key of Object.keys(film)) expect(() => levellingTimeS({ ...film, [key]: bad })).toThrow(key);
      if (bad !== Number.POSITIVE_INFINITY) expect(() => unlevelledShare(1, bad)).toThrow(RangeError);
      if (bad !== 0) expect(() => unlevelledShare(bad, 8)).toThrow(RangeError);
    }
  });
});
