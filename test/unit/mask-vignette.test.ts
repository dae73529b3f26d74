import { describe, expect, test } from 'vitest';
import { applyVignette, ellipseDistance } from '../../src/image/mask/vignette.ts';

/** By searching the line closely. */
function searched(x: number, y: number, a: number, b: number): number {
  let [low, high, best] = [0, Math.PI / 2, 0];
  const to = (t: number) => Math.hypot(Math.abs(x) - a * Math.cos(t), Math.abs(y) - b * Math.sin(t));
  for (let zoom = 0; zoom < 5; zoom++) {
    const step = (high - low) / 100;
    let least = Number.POSITIVE_INFINITY;
    for (let t = low; t <= high + step / 2; t += step) {
      if (to(t) < least) [least, best] = [to(t), t];
    }
    [low, high] = [Math.max(0, best - step), Math.min(Math.PI / 2, best + step)];
  }
  return to(best);
}

describe('ellipseDistance', () => {
  test.each([
    [150, 120],
    [120, 150],
    [100, 100],
    [200, 50],
  ])('half axes %i and %i', (a, b) => {
    for (const scale of [0.02, 0.3, 0.6, 0.9, 0.99]) {
      for (let t = 0; t <= Math.PI / 2; t += Math.PI / 24) {
        const [x, y] = [scale * a * Math.cos(t), scale * b * Math.sin(t)];
        expect(Math.abs(ellipseDistance(x, -y, a, b) - searched(x, y, a, b))).toBeLessThan(1e-3 * Math.min(a, b));
      }
    }
    expect(ellipseDistance(0, 0, a, b)).toBeCloseTo(Math.min(a, b), 6);
    expect(ellipseDistance(a + 3, 0, a, b)).toBeCloseTo(-3, 3);
  });
});

describe('applyVignette', () => {
  const smoothStep = (t: number) => (t <= 0 ? 0 : t >= 1 ? 1 : t * t * (3 - 2 * t));

  test('a rectangle falls off over the width given in mm', () => {
    const mask = applyVignette(null, 60, 40, 0.5, { shape: 'rectangle', fallOffMm: 5 });
    for (let y = 0; y < 40; y++) {
      for (let x = 0; x < 60; x++) {
        const mm = Math.min(x + 0.5, y + 0.5, 59.5 - x, 39.5 - y) * 0.5;
        expect(mask[y * 60 + x]).toBe(Math.round(255 * smoothStep(mm / 5)));
      }
    }
  });

  test.each([
    [61, 40],
    [60, 41],
  ])('an oval of %i × %i dots falls off with the distance from its line', (width, height) => {
    const mask = applyVignette(null, width, height, 0.5, { shape: 'oval', fallOffMm: 6, insetMm: 1 });
    const [a, b] = [width / 2 - 2, height / 2 - 2];
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const [dx, dy] = [x + 0.5 - width / 2, y + 0.5 - height / 2];
        const inside = (dx / a) ** 2 + (dy / b) ** 2 < 1;
        const expected = inside ? 255 * smoothStep(searched(dx, dy, a, b) / 12) : 0;
        expect(Math.abs(mask[y * width + x] - expected)).toBeLessThanOrEqual(0.6);
      }
    }
  });

  test('composes with the mask there is, which stays as it was', () => {
    const mask = new Uint8Array(60 * 40).fill(100);
    mask[20 * 60 + 30] = 0;
    const out = applyVignette(mask, 60, 40, 0.5, { fallOffMm: 4 });
    const alone = applyVignette(null, 60, 40, 0.5, { fallOffMm: 4 });
    out.forEach((value, i) => {
      const expected = i === 20 * 60 + 30 ? 0 : (alone[i] * 100) / 255;
      expect(Math.abs(value - expected)).toBeLessThanOrEqual(0.71);
    });
    expect(mask[0]).toBe(100);
  });

  test('no fall-off is a hard edge with the area of the oval', () => {
    const mask = applyVignette(null, 300, 200, 0.1, { fallOffMm: 0 });
    expect(new Set(mask)).toEqual(new Set([0, 255]));
    expect(mask.filter(Boolean).length / (300 * 200)).toBeCloseTo(Math.PI / 4, 3);
  });

  test('twice the dots at half the pitch is the same vignette', () => {
    const coarse = applyVignette(null, 50, 30, 1, { fallOffMm: 7 });
    const fine = applyVignette(null, 100, 60, 0.5, { fallOffMm: 7 });
    for (const [x, y] of [
      [5, 14],
      [25, 3],
      [12, 6],
      [40, 24],
    ]) {
      const four = [0, 1, 100, 101].reduce((sum, d) => sum + fine[200 * y + 2 * x + d], 0) / 4;
      expect(Math.abs(four - coarse[y * 50 + x])).toBeLessThan(3);
    }
  });

  test('an inset beyond the middle leaves nothing; empty and impossible input', () => {
    expect(applyVignette(null, 10, 10, 1, { insetMm: 5 }).every((value) => value === 0)).toBe(true);
    expect(applyVignette(null, 0, 0, 1)).toHaveLength(0);
    expect(applyVignette(null, 1, 1, 1, { fallOffMm: 0 })).toEqual(Uint8Array.of(255));
    expect(() => applyVignette(null, 5, 5, 0)).toThrow(RangeError);
    expect(() => applyVignette(null, 5, 5, 1, { fallOffMm: -1 })).toThrow(RangeError);
  });
});
