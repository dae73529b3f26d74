import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { fullRunUpMm, type RowSpans, rampFactor, travelTimeS } from '../../src/physics/raster/pass-raster.ts';
import { passTime } from '../../src/physics/raster/pass-time.ts';
import { DEFAULT_PASS } from '../../src/piece/defaults.ts';
import type { Motion, Pass } from '../../src/piece/schema.ts';

/** Textbook kinematics (value from memory); numbers computed from the equations, exact but for rounding. */
describe('trapezoidal motion', () => {
  test('long enough: D/v + v/a; too short to reach the feed: 2√(D/a)', () => {
    expect(travelTimeS(200, 100, 1000)).toBeCloseTo(2.1, 12);
    expect(travelTimeS(2.5, 100, 1000)).toBeCloseTo(0.1, 12);
    // Both forms meet at D = v²/a.
    expect(travelTimeS(10, 100, 1000)).toBeCloseTo(0.2, 12);
    expect(travelTimeS(10 - 1e-9, 100, 1000)).toBeCloseTo(travelTimeS(10, 100, 1000), 9);
    expect(travelTimeS(0, 100, 1000)).toBe(0);
  });

  test('rule of thirds', () => {
    // Industrial motion-control practice: a third of the time each for speeding up, travelling and slowing down makes
    // v = 1.5 Δx/Δt and a = 4.5 Δx/Δt² (industrialmonitordirect.com). Δx = 100 mm in 1 s: v = 150, a = 450.
    const feed = (1.5 * 100) / 1;
    const acceleration = (4.5 * 100) / 1;
    expect(feed).toBe(150);
    expect(acceleration).toBe(450);
    expect(travelTimeS(100, feed, acceleration)).toBeCloseTo(1, 12);
    // A third of the time is spent on each ramp, and the ramp's length is v²/(2a).
    expect(feed / acceleration).toBeCloseTo(1 / 3, 12);
    expect(fullRunUpMm(feed, acceleration)).toBeCloseTo(25, 12);
  });
});

const equalRows = (rows: number, columns: number, twoWay: boolean): RowSpans => ({
  first: new Int32Array(rows),
  end: new Int32Array(rows).fill(columns),
  backwards: Uint8Array.from({ length: rows }, (_, r) => (twoWay ? r % 2 : 0)),
});
const pass = (more: Partial<Pass>): Pass => ({ ...DEFAULT_PASS, ...more });
const motion = (more: Partial<Motion>): Motion => ({
  maxFeedMmPerS: 400,
  accelerationMmPerS2: 1000,
  runUpMm: 50,
  powerAtRamps: 'held',
  ...more,
});

describe('time of a pass', () => {
  /** Time to move by one row between two rows that are travelled to and fro. */
  const stepS = (pitchMm: number, m: Motion) => travelTimeS(pitchMm, m.maxFeedMmPerS, m.accelerationMmPerS2);

  test('N (L/v + 2v/a + t) for equal two-way rows whose run-up is as long as the ramp', () => {
    // Computed from the closed form: N = 1000, L = 200 mm, v = 100 mm/s, a = 1000 mm/s², t = 0 gives 2200 s.
    const m = motion({});
    const pitchMm = 0.2;
    const time = passTime(equalRows(1000, 1000, true), pitchMm, pass({ feedMmPerS: 100 }), m);
    expect(time.timeS - 999 * stepS(pitchMm, m)).toBeCloseTo(2200, 6);
    expect(time.rows).toBe(1000);
    expect(time.burnedMm).toBeCloseTo(200_000, 6);
  });

  test('the same for many rows, pitches, feeds and accelerations', () => {
    const random = createGenerator(21);
    for (let i = 0; i < 100; i++) {
      const rows = 1 + Math.floor(50 * random.nextUnit());
      const columns = 1 + Math.floor(500 * random.nextUnit());
      const pitchMm = 0.05 + 0.2 * random.nextUnit();
      const feed = 20 + 200 * random.nextUnit();
      const m = motion({ accelerationMmPerS2: 500 + 5000 * random.nextUnit() });
      m.runUpMm = fullRunUpMm(feed, m.accelerationMmPerS2) * (1 + random.nextUnit());
      const time = passTime(equalRows(rows, columns, true), pitchMm, pass({ feedMmPerS: feed }), m);
      // A ramp shorter than 0.2 mm is followed by what is missing at full feed, as far as the machine's setting goes.
      const ramp = feed ** 2 / (2 * m.accelerationMmPerS2);
      const more = Math.max(ramp, Math.min(0.2, m.runUpMm)) - ramp;
      const closed = rows * ((columns * pitchMm + 2 * more) / feed + (2 * feed) / m.accelerationMmPerS2);
      expect(time.timeS).toBeCloseTo(closed + (rows - 1) * stepS(pitchMm, m), 6);
    }
  });

  test('one-way rows also travel back at the fastest feed', () => {
    const m = motion({});
    const two = passTime(equalRows(10, 500, true), 0.2, pass({ feedMmPerS: 100 }), m);
    const one = passTime(equalRows(10, 500, false), 0.2, pass({ feedMmPerS: 100 }), m);
    const back = travelTimeS(100 + 2 * fullRunUpMm(100, 1000), m.maxFeedMmPerS, 1000);
    expect(one.timeS - two.timeS).toBeCloseTo(9 * (back - stepS(0.2, m)), 9);
  });

  test('a pass cannot be faster than the machine', () => {
    const m = motion({ maxFeedMmPerS: 80 });
    const wished = passTime(equalRows(5, 500, true), 0.2, pass({ feedMmPerS: 100 }), m);
    const got = passTime(equalRows(5, 500, true), 0.2, pass({ feedMmPerS: 80 }), m);
    expect(wished.timeS).toBe(got.timeS);
  });

  test('with a short run-up a row takes as long as the trapezoid over what is left', () => {
    const m = motion({ runUpMm: 1 });
    const time = passTime(equalRows(1, 100, true), 0.1, pass({ feedMmPerS: 100 }), m);
    expect(time.timeS).toBeCloseTo(travelTimeS(12, 100, 1000), 12);
  });

  test('rows without power cost nothing', () => {
    const spans = equalRows(6, 100, false);
    for (const r of [0, 2, 5]) spans.end[r] = 0;
    const time = passTime(spans, 0.1, pass({ feedMmPerS: 100 }), motion({}));
    expect(time.rows).toBe(3);
    expect(passTime(equalRows(0, 10, false), 0.1, pass({}), motion({}))).toEqual({ timeS: 0, rows: 0, burnedMm: 0 });
  });
});

describe('ramp inside the picture', () => {
  /** Time over a stretch by integrating 1/v(x) with the midpoint rule after x = s², which takes away the pole at rest. */
  function timeByIntegration(fromMm: number, lengthMm: number, feed: number, acceleration: number): number {
    const steps = 20_000;
    const s0 = Math.sqrt(fromMm);
    const s1 = Math.sqrt(fromMm + lengthMm);
    let sum = 0;
    for (let i = 0; i < steps; i++) {
      const s = s0 + ((i + 0.5) / steps) * (s1 - s0);
      const speed = Math.min(feed, Math.sqrt(2 * acceleration) * s);
      sum += (2 * s * (s1 - s0)) / steps / speed;
    }
    return sum;
  }

  test('agrees with ∫ dx / v(x)', () => {
    const random = createGenerator(22);
    for (let i = 0; i < 60; i++) {
      const feed = 50 + 200 * random.nextUnit();
      const acceleration = 500 + 4000 * random.nextUnit();
      const fromMm = 1.3 * random.nextUnit() * fullRunUpMm(feed, acceleration);
      const lengthMm = 0.05 + 3 * random.nextUnit();
      const wanted = (timeByIntegration(fromMm, lengthMm, feed, acceleration) * feed) / lengthMm;
      // The midpoint rule meets a kink where the feed is reached: an error of a step, 1/20000.
      expect(rampFactor(fromMm, lengthMm, feed, acceleration) / wanted).toBeCloseTo(1, 4);
    }
  });

  test('is 1 once up to speed and never below', () => {
    expect(rampFactor(fullRunUpMm(100, 1000), 0.1, 100, 1000)).toBe(1);
    expect(rampFactor(0, 0.1, 100, 1000)).toBeGreaterThan(1);
    let last = Number.POSITIVE_INFINITY;
    for (let from = 0; from <= 6; from += 0.1) {
      const factor = rampFactor(from, 0.1, 100, 1000);
      expect(factor).toBeLessThanOrEqual(last);
      expect(factor).toBeGreaterThanOrEqual(1);
      last = factor;
    }
  });
});
