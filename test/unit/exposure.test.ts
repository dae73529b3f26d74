import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { degToRad } from '../../src/base/units.ts';
import { lineWeights } from '../../src/burn/plan.ts';
import { outputPowerW, spotRadii } from '../../src/physics/beam/gaussian.ts';
import { dwellFactor, LAYER_COLUMNS, layerTable, REFERENCE_DWELL_S } from '../../src/physics/material/layers.ts';
import { alongWeights, haloDots, lagStarts, type RowOptics, rowExposure } from '../../src/physics/raster/exposure.ts';
import { DEFAULT_MACHINE, DEFAULT_PASS, DEFAULT_STACK, woodOf } from '../../src/piece/defaults.ts';
import type { Source } from '../../src/piece/schema.ts';

const LIME = woodOf('lime');
const source = (more: Partial<Source>): Source => ({ ...DEFAULT_MACHINE.source, ...more });

describe('outputPowerW', () => {
  test('straight without a curve, nothing below the floor, all at full', () => {
    const plain = source({ firingFloor: 0.1, fullPowerW: 20 });
    expect(outputPowerW(plain, 0)).toBe(0);
    expect(outputPowerW(plain, 0.0999)).toBe(0);
    expect(outputPowerW(plain, 0.1)).toBeCloseTo(2, 12);
    expect(outputPowerW(plain, 1)).toBe(20);
    expect(outputPowerW(source({ firingFloor: 0 }), 0)).toBe(0);
  });

  test('along the curve, from nothing at 0 and to all at 1 unless it says otherwise', () => {
    const powerCurve: [number, number][] = [
      [0.2, 0.1],
      [0.6, 0.5],
    ];
    const at = (share: number) => outputPowerW(source({ firingFloor: 0, fullPowerW: 10, powerCurve }), share);
    for (const [share, watts] of [
      [0.1, 0.5],
      [0.2, 1],
      [0.4, 3],
      [0.6, 5],
      [0.8, 7.5],
      [1, 10],
    ])
      expect(at(share)).toBeCloseTo(watts, 9);
    const limited = source({
      firingFloor: 0,
      fullPowerW: 10,
      powerCurve: [
        [0, 0.3],
        [1, 0.8],
      ],
    });
    expect(outputPowerW(limited, 1)).toBeCloseTo(8, 9);
  });

  test('a rising curve never gives less for more', () => {
    const random = createGenerator(61);
    for (let round = 0; round < 50; round++) {
      let y = 0;
      const powerCurve = Array.from({ length: 6 }, (_, i): [number, number] => {
        y = Math.min(1, y + 0.3 * random.nextUnit());
        return [(i + random.nextUnit()) / 6, y];
      });
      let last = 0;
      for (let share = 0; share <= 1; share += 0.01) {
        const watts = outputPowerW(source({ firingFloor: 0.05, powerCurve }), share);
        expect(watts).toBeGreaterThanOrEqual(last - 1e-12);
        last = watts;
      }
    }
  });
});

describe('spotRadii', () => {
  test('grow out of focus and turn with the rows', () => {
    const beam = source({ spotAlongMm: 0.04, spotAcrossMm: 0.08 });
    expect(spotRadii(beam, DEFAULT_PASS)).toEqual({ alongMm: 0.04, acrossMm: 0.08 });
    const turned = spotRadii(beam, { ...DEFAULT_PASS, headingRad: degToRad(90) });
    expect(turned.alongMm).toBeCloseTo(0.08, 12);
    expect(turned.acrossMm).toBeCloseTo(0.04, 12);
    const far = spotRadii(beam, { ...DEFAULT_PASS, focusOffsetMm: 3 });
    // The finer waist opens faster: θ = M²λ/(πw0).
    expect(far.alongMm).toBeCloseTo(Math.hypot(0.04, (3 * 12 * 450e-6) / (Math.PI * 0.04)), 12);
    expect(far.acrossMm).toBeCloseTo(Math.hypot(0.08, (3 * 12 * 450e-6) / (Math.PI * 0.08)), 12);
  });
});

describe('alongWeights', () => {
  test('add up to one and are centred where they are shifted to', () => {
    for (const radius of [0.001, 0.03, 0.1, 0.25]) {
      for (const shift of [0, 0.5, -2, 3.25]) {
        const weights = alongWeights(radius, 0.1, shift);
        const half = (weights.length - 1) / 2;
        expect(weights.reduce((a, b) => a + b)).toBeCloseTo(1, 12);
        const middle = weights.reduce((sum, weight, i) => sum + weight * (i - half), 0);
        // Sorted into dots, the middle of a Gaussian of standard deviation σ dots is off by exp(−2π²σ²)/π at most (Poisson's sum, first
        // harmonic); half a dot for a point.
        const sigma = radius / 2 / 0.1;
        const allowed = radius >= 0.1 ? Math.exp(-2 * (Math.PI * sigma) ** 2) / Math.PI : 0.5;
        expect(Math.abs(middle - shift)).toBeLessThanOrEqual(1.01 * allowed + 1e-6);
      }
    }
  });

  test('are the beam’s profile integrated over each dot', () => {
    // Midpoint rule over 2000 pieces a dot of √(2/π)/w · exp(−2x²/w²).
    const weights = alongWeights(0.1, 0.1, 0);
    const half = (weights.length - 1) / 2;
    for (let k = -half; k <= half; k++) {
      let sum = 0;
      for (let i = 0; i < 2000; i++) {
        const x = (k - 0.5 + (i + 0.5) / 2000) * 0.1;
        sum += (Math.sqrt(2 / Math.PI) / 0.1) * Math.exp(-2 * (x / 0.1) ** 2) * (0.1 / 2000);
      }
      // The error function's series is good to 1.5e-7.
      expect(Math.abs(weights[k + half] - sum)).toBeLessThan(1e-6);
    }
  });
});

describe('lineWeights', () => {
  test('are the line profile at the middle of each part of a pitch, from the rows that reach it', () => {
    const { data, width, height } = lineWeights([0.1], 0.1, 3);
    expect([width, height]).toEqual([5, 3]);
    const profile = (mm: number) => (Math.sqrt(2 / Math.PI) / 0.1) * Math.exp(-2 * (mm / 0.1) ** 2);
    expect(data[5 + 2]).toBeCloseTo(profile(0), 5);
    expect(data[2]).toBeCloseTo(profile(0.1 / 3), 5);
    expect(data[1]).toBeCloseTo(profile(0.1 - 0.1 / 3), 5);
    expect(data[10 + 3]).toBeCloseTo(profile(0.1 - 0.1 / 3), 5);
    // A second radius gets a block of its own, as wide as the widest needs.
    const both = lineWeights([0.1, 0.2], 0.1, 3);
    expect([both.width, both.height]).toEqual([7, 6]);
    expect(both.data[7 + 3]).toBeCloseTo(profile(0), 5);
    expect(both.data[4 * 7 + 3]).toBeCloseTo(profile(0) / 2, 5);
    // What is left out brings less than 0.3 % of the peak.
    for (const [radius, pitch] of [
      [0.03, 0.1],
      [0.1, 0.05],
      [0.2, 0.1],
    ]) {
      const plane = lineWeights([radius], pitch, 51);
      const beyond = ((plane.width + 1) / 2) * pitch - pitch / 2;
      expect(Math.exp(-2 * (beyond / radius) ** 2)).toBeLessThan(0.003);
      // Summed over rows and parts, the energy of a row is there: the mean of the raster's dose is 1/p.
      const mean = plane.data.reduce((a, b) => a + b) / 51;
      expect(Math.abs(mean * pitch - 1)).toBeLessThan(0.001);
    }
  });
});

describe('lagStarts', () => {
  const tau = 0.002;
  const dot = 0.001;
  /** Mean power of each dot: the command and the mean of what dies away. In place. */
  const applyLag = (power: Float64Array, dotS: number, riseS: number, fallS: number, backwards: boolean): void => {
    const over = lagStarts(power, dotS, riseS, fallS, backwards);
    for (let i = 0; i < power.length; i++) {
      const timeS = over[i] < 0 ? riseS : fallS;
      if (timeS > 0) power[i] += (over[i] * timeS * (1 - Math.exp(-dotS / timeS))) / dotS;
    }
  };

  test('a step is answered by 1 − exp(−t/τ), as a mean over each dot', () => {
    const power = new Float64Array(30).fill(0, 0, 5).fill(8, 5);
    applyLag(power, dot, tau, tau, false);
    for (let i = 0; i < 25; i++) {
      const [t0, t1] = [i * dot, (i + 1) * dot];
      // ∫ 8 (1 − e^{−t/τ}) dt over the dot, over its length.
      const mean = (8 * (dot + tau * (Math.exp(-t1 / tau) - Math.exp(-t0 / tau)))) / dot;
      expect(power[5 + i]).toBeCloseTo(mean, 12);
    }
    expect(power[4]).toBe(0);
  });

  test('equal rise and fall only move energy; and backwards is the mirror of forwards', () => {
    const random = createGenerator(62);
    const shape = Float64Array.from({ length: 60 }, (_, i) => (i > 10 && i < 30 ? 10 * random.nextUnit() : 0));
    const forwards = shape.slice();
    applyLag(forwards, dot, tau, tau, false);
    expect(forwards.reduce((a, b) => a + b)).toBeCloseTo(
      shape.reduce((a, b) => a + b),
      3,
    );
    const backwards = shape.slice().reverse();
    applyLag(backwards, dot, tau, tau, true);
    expect(Array.from(backwards.reverse())).toEqual(Array.from(forwards));
  });

  test('rise and fall have their own times, and none is none', () => {
    const power = new Float64Array([0, 10, 10, 0, 0]);
    applyLag(power, dot, 0, tau, false);
    expect([...power.subarray(0, 3)]).toEqual([0, 10, 10]);
    expect(power[3]).toBeGreaterThan(power[4]);
    expect(power[4]).toBeGreaterThan(0);
    const plain = new Float64Array([1, 0, 3]);
    applyLag(plain, dot, 0, 0, false);
    expect([...plain]).toEqual([1, 0, 3]);
    const late = new Float64Array([0, 10, 10, 0, 0]);
    applyLag(late, dot, tau, 0, false);
    expect(late[1]).toBeLessThan(late[2]);
    expect([...late.subarray(3)]).toEqual([0, 0]);
  });
});

describe('rowExposure', () => {
  const optics: RowOptics = {
    pitchMm: 0.1,
    feedMmPerS: 100,
    alongRadiusMm: 0.1,
    riseTimeS: 0,
    fallTimeS: 0,
    accelerationMmPerS2: 1000,
    runUpMm: 5,
    powerAtRamps: 'held',
    rowOffsetErrorMm: 0,
  };

  test('energy per length is P/v inside an even row, half of it at its edge, and all in all kept', () => {
    const power = new Float64Array(60);
    power.fill(6, 20, 40);
    const out = rowExposure(power.slice(), false, 0, 20, 40, optics);
    expect(out[30]).toBeCloseTo(0.06, 7);
    // On the edge between two dots it would be half; the dots' centres lie to either side of it.
    expect((out[19] + out[20]) / 2).toBeCloseTo(0.03, 6);
    expect(out.reduce((a, b) => a + b)).toBeCloseTo(20 * 0.06, 6);
    expect(out[10]).toBe(0);
  });

  test('on a ramp the dose rises by v over the speed there', () => {
    const short = { ...optics, alongRadiusMm: 0.0001, runUpMm: 1 };
    const out = rowExposure(new Float64Array(200).fill(6), false, 0, 0, 200, short);
    for (const i of [0, 5, 20, 39]) {
      const speed = Math.sqrt(2 * 1000 * (1 + (i + 0.5) * 0.1));
      // Mean of 1/v over a dot against 1/v at its middle: second order in the dot.
      expect(out[i] / (6 / speed)).toBeCloseTo(1, 2);
      expect(out[199 - i]).toBeCloseTo(out[i], 7);
    }
    expect(out[41]).toBeCloseTo(0.06, 6);
    const follows = rowExposure(new Float64Array(200).fill(6), false, 0, 0, 200, {
      ...short,
      powerAtRamps: 'follows-feed',
    });
    expect(follows[0]).toBeCloseTo(0.06, 6);
  });

  test('a window that starts inside the row gives the same as the whole row', () => {
    const random = createGenerator(63);
    const power = Float64Array.from({ length: 120 }, () => 10 * random.nextUnit());
    const late = { ...optics, riseTimeS: 0.0003, fallTimeS: 0.0002, runUpMm: 2, rowOffsetErrorMm: 0.2 };
    for (const backwards of [false, true]) {
      const whole = rowExposure(power.slice(), backwards, 0, 0, 120, late);
      const halo = haloDots(late);
      const part = rowExposure(power.slice(40 - halo, 70 + halo), backwards, 40 - halo, 0, 120, late);
      for (let i = 40; i < 70; i++) {
        // The lag of what lies beyond the halo is below exp(−8) = 3e-4 of the power there.
        expect(Math.abs(part[halo + i - 40] - whole[i])).toBeLessThan(3.4e-4 * 0.1);
      }
    }
  });
});

describe('layers', () => {
  test('the threshold grows with the dwell, and holds at the reference dwell', () => {
    expect(dwellFactor(REFERENCE_DWELL_S)).toBe(1);
    expect(dwellFactor(4 * REFERENCE_DWELL_S)).toBeGreaterThan(1.5);
    expect(dwellFactor(4 * REFERENCE_DWELL_S)).toBeLessThan(2);
    expect(dwellFactor(0)).toBeGreaterThan(0);
  });

  test('one row a layer, topmost first, wood last', () => {
    const table = layerTable(DEFAULT_STACK, LIME, REFERENCE_DWELL_S, null, 1);
    expect(table).toHaveLength(3 * LAYER_COLUMNS);
    expect(table[0]).toBeCloseTo(0.93, 6);
    expect(table[LAYER_COLUMNS + 2]).toBeCloseTo(15, 6);
    expect(table[2 * LAYER_COLUMNS + 1]).toBeCloseTo(0.05, 6);
    expect(layerTable({ ...DEFAULT_STACK, coats: [] }, LIME, REFERENCE_DWELL_S, null, 1)).toHaveLength(LAYER_COLUMNS);
    expect(layerTable(DEFAULT_STACK, LIME, 9 * REFERENCE_DWELL_S, null, 1)[1] / table[1]).toBeCloseTo(
      dwellFactor(9 * REFERENCE_DWELL_S),
      5,
    );
  });
});
