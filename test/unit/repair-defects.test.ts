import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { findDefects, squareExtreme } from '../../src/image/repair/defects.ts';
import { findPatches, inpaint } from '../../src/image/repair/inpaint.ts';
import { largestDifference } from '../helpers/planes.ts';

const read = (name: string) => decode(readFileSync(join(import.meta.dirname, '../fixtures/repair', name)));
const build = (width: number, height: number, at: (x: number, y: number) => number) =>
  Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width)));

describe('squareExtreme', () => {
  test.each([
    [9, 6, 1],
    [5, 8, 2],
    [4, 3, 7],
    [1, 1, 3],
    [40, 3, 11],
  ])('%i × %i with radius %i is the greatest and the least of every square', (width, height, radius) => {
    const plane = build(width, height, (x, y) => Math.sin(5 * x + 11 * y));
    for (const [which, pick] of [
      ['greatest', Math.max],
      ['least', Math.min],
    ] as const) {
      const expected = build(width, height, (x, y) =>
        pick(
          ...plane.filter(
            (_, i) => Math.abs((i % width) - x) <= radius && Math.abs(Math.floor(i / width) - y) <= radius,
          ),
        ),
      );
      expect(squareExtreme(plane, width, height, radius, which)).toEqual(expected);
    }
  });

  test('masks too, radius 0, and nothing', () => {
    expect([...squareExtreme(Uint8Array.of(0, 0, 255, 0, 0), 5, 1, 1, 'greatest')]).toEqual([0, 255, 255, 255, 0]);
    expect([...squareExtreme(Uint8Array.of(9, 255), 2, 1, 0, 'least')]).toEqual([9, 255]);
    expect(squareExtreme(new Float32Array(0), 0, 0, 2, 'least')).toHaveLength(0);
  });
});

describe('findPatches', () => {
  test('joins by corners, not across the edges of the picture', () => {
    const rows = ['#...#', '.#..#', '.....', '#....'];
    const mask = Uint8Array.from(rows.join(''), (sign) => (sign === '#' ? 1 : 0));
    expect(findPatches(mask, 5, 4).map((patch) => [...patch].sort((a, b) => a - b))).toEqual([[0, 6], [4, 9], [15]]);
    expect(findPatches(new Uint8Array(0), 0, 0)).toEqual([]);
  });
});

describe('findDefects', () => {
  const camera = read('camera.png');
  const { width, height } = camera;
  const photo = Float32Array.from(camera.data, (code) => code / 255);
  const marks = Uint8Array.from(read('scratches.png').data);
  const share = (of: Uint8Array, within: (i: number) => boolean) => {
    let all = 0;
    let found = 0;
    of.forEach((value, i) => {
      if (!within(i)) return;
      all++;
      if (value > 0) found++;
    });
    return found / all;
  };

  test('finds planted scratches and specks in a photograph and little else', () => {
    const scratched = photo.map((value, i) => (marks[i] > 0 ? 1 : value));
    const found = findDefects(scratched, width, height, { kind: 'bright', threshold: 0.3 });
    // Where the photograph is nearly as light as the scratch there is not enough to see.
    expect(share(found, (i) => marks[i] > 0 && photo[i] < 0.7)).toBeGreaterThan(0.99);
    // Beside the marks and the ring of one dot by which they are widened: at 128 dots across, the tripod's legs are thin too.
    const widened = squareExtreme(marks, width, height, 1, 'greatest');
    expect(share(found, (i) => widened[i] === 0)).toBeLessThan(0.08);
    // Filled, the picture is nearer to the one before, everything wrongly found included.
    const repaired = inpaint(scratched, width, height, found);
    const error = (plane: Float32Array) => Math.sqrt(plane.reduce((sum, v, i) => sum + (v - photo[i]) ** 2, 0));
    expect(error(repaired)).toBeLessThan(0.6 * error(scratched));
  });

  const SIDE = 120;
  const flat = (more: (x: number, y: number) => number | null) => build(SIDE, SIDE, (x, y) => more(x, y) ?? 0.5);

  test('by width: what is wider than 2 · radius is picture', () => {
    const plane = flat((x) => (x >= 20 && x < 24 ? 0.8 : x >= 70 && x < 75 ? 0.8 : null));
    const found = findDefects(plane, SIDE, SIDE, { radius: 2, grow: 0 });
    expect([...found.subarray(0, SIDE)].flatMap((value, x) => (value ? [x] : []))).toEqual([20, 21, 22, 23]);
  });

  test('by kind, by threshold, and widened', () => {
    const plane = flat((x, y) => (y === 30 ? 0.9 : y === 80 ? 0.1 : x === 60 && y > 90 ? 0.55 : null));
    const rows = (found: Uint8Array) => [...Array(SIDE).keys()].filter((y) => found[y * SIDE + 10] > 0);
    expect(rows(findDefects(plane, SIDE, SIDE, { kind: 'bright', grow: 0 }))).toEqual([30]);
    expect(rows(findDefects(plane, SIDE, SIDE, { kind: 'dark', grow: 0 }))).toEqual([80]);
    const both = findDefects(plane, SIDE, SIDE);
    expect(rows(both)).toEqual([29, 30, 31, 79, 80, 81]);
    expect(both[100 * SIDE + 60]).toBe(0);
  });

  test('texture stays, a scratch through it is found', () => {
    const grass = (x: number, y: number) => 0.5 + (((x * 7 + y * 3) % 5) / 5) * 0.3;
    const plane = build(SIDE, SIDE, (x, y) => (x === 50 ? 1.5 : grass(x, y)));
    const found = findDefects(plane, SIDE, SIDE, { kind: 'bright', grow: 0 });
    for (let x = 0; x < SIDE; x++) expect(found[60 * SIDE + x]).toBe(x === 50 ? 255 : 0);
    // Without the weighing the texture is full of them.
    expect(findDefects(plane, SIDE, SIDE, { kind: 'bright', aboveTexture: 0 }).filter(Boolean).length).toBeGreaterThan(
      3000,
    );
  });

  test('grain of a dot or two stays', () => {
    const plane = flat((x, y) =>
      y === 40 && (x === 40 || x === 41) ? 0.9 : y === 80 && x >= 40 && x < 43 ? 0.9 : null,
    );
    expect(findDefects(plane, SIDE, SIDE, { grow: 0 }).filter(Boolean)).toHaveLength(3);
  });

  test('odd input', () => {
    expect(findDefects(new Float32Array(0), 0, 0)).toHaveLength(0);
    expect(() => findDefects(photo, width, height, { radius: 0 })).toThrow(RangeError);
  });
});

describe('inpaint', () => {
  const [width, height] = [50, 40];
  // Harmonic on the dots too: slope, x² − y², xy, and cosh · cos with the wave numbers that belong together on dots.
  const k = Math.acosh(2 - Math.cos(0.3));
  const harmonic = build(width, height, (x, y) => {
    const [u, v] = [x - 25, y - 20];
    return (
      0.4 + 0.004 * u - 0.003 * v + 1e-4 * (u * u - v * v) + 2e-4 * u * v + 0.001 * Math.cosh(k * v) * Math.cos(0.3 * u)
    );
  });
  const fill = (marked: (x: number, y: number) => boolean) => {
    const marks = new Uint8Array(width * height);
    const broken = harmonic.map((value, i) => {
      marks[i] = marked(i % width, Math.floor(i / width)) ? 1 : 0;
      return marks[i] ? Number.NaN : value;
    });
    return inpaint(broken, width, height, marks);
  };

  test.each<[string, (x: number, y: number) => boolean]>([
    ['a scratch', (x, y) => Math.abs(x - y - 3) < 2 && y > 2 && y < 36],
    ['a hole', (x, y) => (x - 20) ** 2 + (y - 18) ** 2 < 144],
    ['specks', (x, y) => x % 7 > 4 && y % 6 > 3 && x < 48 && y < 39],
  ])('planted harmonic tones come back under %s', (_, marked) => {
    expect(largestDifference(fill(marked), harmonic)).toBeLessThan(2e-5);
  });

  test('values stay between those around them, at the border of the picture too', () => {
    const plane = build(20, 20, (x) => (x < 10 ? 0.2 : 0.9));
    const marks = Uint8Array.from({ length: 400 }, (_, i) => (i % 20 >= 5 && i % 20 < 15 && i < 200 ? 1 : 0));
    const filled = inpaint(plane, 20, 20, marks);
    for (let i = 0; i < 400; i++) {
      expect(filled[i]).toBeGreaterThanOrEqual(0.2 - 1e-6);
      expect(filled[i]).toBeLessThanOrEqual(0.9 + 1e-6);
    }
    // Along the border nothing lies beyond: the fill runs from one side to the other.
    for (let x = 5; x < 15; x++) expect(filled[x]).toBeGreaterThanOrEqual(filled[x - 1]);
    expect(filled[9]).toBeGreaterThan(0.4);
  });

  test('nothing marked, all marked, odd sizes', () => {
    expect(fill(() => false)).toEqual(harmonic);
    const plane = Float32Array.of(0.1, 0.2, 0.3, 0.4);
    expect(inpaint(plane, 2, 2, new Uint8Array(4).fill(1))).toEqual(plane);
    expect(inpaint(new Float32Array(0), 0, 0, new Uint8Array(0))).toHaveLength(0);
    expect(() => inpaint(plane, 2, 2, new Uint8Array(3))).toThrow(RangeError);
  });
});
