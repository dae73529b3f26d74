import { describe, expect, test } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import { luminanceToLightness } from '../../src/image/lightness.ts';
import type { Picture } from '../../src/image/picture.ts';
import { createDemoPiece, DEMO_PICTURE_FILE } from '../../src/piece/demo-piece.ts';
import { parsePiece } from '../../src/piece/file.ts';
import { createGrain } from '../fixtures/demo/grain.ts';
import { renderDemo } from '../fixtures/demo/render.ts';
import { SCENE } from '../fixtures/demo/scene.ts';
import { LAND } from '../fixtures/demo/shore.ts';

const small = renderDemo({ width: 64 });
const large = renderDemo({ width: 192, height: 150 });

/** Means over blocks of `factor` × `factor` pixels. */
function shrink({ width, height, luminance }: Picture, factor: number): Float64Array {
  const out = new Float64Array((width / factor) * (height / factor));
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      out[Math.floor(y / factor) * (width / factor) + Math.floor(x / factor)] +=
        luminance[y * width + x] / (factor * factor);
    }
  }
  return out;
}

function moments(values: ArrayLike<number>): { mean: number; spread: number } {
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < values.length; i++) {
    sum += values[i];
    squares += values[i] * values[i];
  }
  const mean = sum / values.length;
  return { mean, spread: Math.sqrt(squares / values.length - mean * mean) };
}

function correlation(a: ArrayLike<number>, b: ArrayLike<number>): number {
  const first = moments(a);
  const second = moments(b);
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] - first.mean) * (b[i] - second.mean);
  return sum / (a.length * first.spread * second.spread);
}

describe('the demo photograph', () => {
  test('has the oval’s aspect unless told otherwise', () => {
    expect([small.width, small.height, small.luminance.length, small.alpha]).toEqual([64, 50, 3200, null]);
    expect(renderDemo({ width: 9, height: 4 }).luminance).toHaveLength(36);
  });

  test('is the same every time', () => {
    expect(renderDemo({ width: 64 })).toEqual(small);
  });

  test('is the same picture at another size', () => {
    expect(correlation(small.luminance, shrink(large, 3))).toBeGreaterThan(0.98);
  });

  test('keeps what the scenario promises: lights, deep shadows, the range of an old print', () => {
    const lightness = Array.from(large.luminance, (luminance) => 100 * luminanceToLightness(luminance));
    const share = (holds: (value: number) => boolean) => lightness.filter(holds).length / lightness.length;
    expect(share((value) => value > 80)).toBeGreaterThan(0.1);
    expect(share((value) => value > 80)).toBeLessThan(0.45);
    expect(share((value) => value < 25)).toBeGreaterThan(0.05);
    expect(Math.min(...lightness)).toBeGreaterThan(6);
    expect(Math.min(...lightness)).toBeLessThan(14);
    expect(Math.max(...lightness)).toBeGreaterThan(88);
    expect(Math.max(...lightness)).toBeLessThan(95);
  });

  test('has a sky that is bright at the horizon and darkens evenly upwards', () => {
    const rows = [8, 28, 48, 68].map((y) => moments(large.luminance.subarray(192 * y, 192 * y + 60)).mean);
    expect(rows).toEqual([...rows].sort((a, b) => a - b));
    expect(rows[3]).toBeGreaterThan(2 * rows[0]);
  });

  test('stops when told to', () => {
    let rows = 0;
    const stopped = () => renderDemo({ width: 64, onRow: () => ++rows < 3 });
    expect(stopped).toThrow(Cancelled);
    expect(rows).toBe(3);
  });

  test.each([0, -1, 1.5, Number.NaN])('refuses a width of %d', (width) => {
    expect(() => renderDemo({ width })).toThrow(RangeError);
  });

  test('comes with a valid piece', () => {
    expect(parsePiece(JSON.stringify(createDemoPiece())).picture.file).toBe(DEMO_PICTURE_FILE);
  });
});

describe('the scene', () => {
  test('keeps every body inside its box, where a ray looks for it', () => {
    const leaks: string[] = [];
    for (const [i, { low, high, distance }] of SCENE.entries()) {
      if (LAND.some((land) => land.distance === distance)) continue;
      const at = (axis: 0 | 1 | 2, share: number) => low[axis] + (high[axis] - low[axis]) * share;
      for (let u = 0; u <= 1; u += 0.02) {
        for (let v = 0; v <= 1; v += 0.02) {
          const sides = [0, 1].flatMap((end) => [
            [at(0, end), at(1, u), at(2, v)],
            [at(0, u), at(1, v), at(2, end)],
          ]);
          for (const [x, y, z] of [...sides, [at(0, u), high[1], at(2, v)]]) {
            if (y > 0 && distance(x, y, z) < 0) leaks.push(`${i}: ${x}, ${y}, ${z}`);
          }
        }
      }
    }
    expect(leaks).toEqual([]);
  });
});

describe('grain', () => {
  test('has no mean, and the spread of its cells where a pixel covers one', () => {
    const { mean, spread } = moments(createGrain(300, 200, 300, 5));
    expect(mean).toBeCloseTo(0, 1);
    expect(spread).toBeGreaterThan(0.95);
    expect(spread).toBeLessThan(1.05);
  });

  test('of a small picture is that of a large one, averaged', () => {
    const fine = { width: 120, height: 60, luminance: createGrain(120, 60, 120, 5), alpha: null };
    const coarse = createGrain(40, 20, 120, 5);
    expect(correlation(coarse, shrink(fine, 3))).toBeGreaterThan(0.9999);
    expect(moments(coarse).spread).toBeCloseTo(1 / 3, 1);
  });
});
