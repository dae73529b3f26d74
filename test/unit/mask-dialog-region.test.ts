import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { paintStrokes } from '../../src/image/mask/brush.ts';
import { depthField, levelLines, regionStrokes } from '../../src/page/image/mask/background-strokes.ts';
import { MOST_POINTS } from '../../src/page/image/mask/stroke-points.ts';
import { strokeSchema } from '../../src/piece/schema.ts';

const WIDTH = 240;
const HEIGHT = 180;
const ENOUGH = { strokes: 500, points: 12_000 };
type Inside = (x: number, y: number) => boolean;
const region = (inside: Inside, width = WIDTH, height = HEIGHT) =>
  Uint8Array.from({ length: width * height }, (_, i) =>
    inside((i % width) + 0.5, Math.floor(i / width) + 0.5) ? 1 : 0,
  );
const erased = (strokes: ReturnType<typeof regionStrokes>['strokes'], width = WIDTH, height = HEIGHT) =>
  paintStrokes(new Uint8Array(width * height).fill(255), width, height, strokes);
/** Share of all dots that are erased and should not be, or the other way round. */
const wrong = (mask: Uint8Array, wanted: Uint8Array) =>
  mask.reduce((sum, value, i) => sum + (value < 128 !== (wanted[i] === 1) ? 1 : 0), 0) / mask.length;

/** All round a head and shoulders, with a gap between arm and body. */
const portrait: Inside = (x, y) => {
  const head = Math.hypot((x - 120) / 38, (y - 70) / 48) < 1;
  const body = Math.hypot((x - 120) / 90, (y - 190) / 80) < 1;
  const gap = Math.hypot((x - 60) / 12, (y - 165) / 10) < 1;
  return !(head || body) || gap;
};

describe('depthField', () => {
  test('is the distance to the nearest dot outside, less half a dot; the picture’s border is no edge', () => {
    const random = createGenerator(7);
    const [width, height] = [23, 17];
    const mask = Uint8Array.from({ length: width * height }, () => (random.nextUnit() < 0.93 ? 1 : 0));
    const depth = depthField(mask, width, height);
    for (let i = 0; i < mask.length; i++) {
      let least = Number.POSITIVE_INFINITY;
      for (let j = 0; j < mask.length; j++) {
        if (mask[j] === 1) continue;
        const [dx, dy] = [(i % width) - (j % width), Math.floor(i / width) - Math.floor(j / width)];
        least = Math.min(least, Math.hypot(dx, dy));
      }
      expect(depth[i]).toBeCloseTo(Math.max(0, least - 0.5), 4);
    }
    expect(Math.min(...depthField(new Uint8Array(12).fill(1), 4, 3))).toBeGreaterThan(4);
  });
});

describe('levelLines', () => {
  test('finds a ring’s outer and inner line where the field takes the level', () => {
    const field = Float32Array.from({ length: 80 * 80 }, (_, i) => {
      const r = Math.hypot((i % 80) + 0.5 - 40, Math.floor(i / 80) + 0.5 - 40);
      return Math.max(0, 10 - Math.abs(r - 22));
    });
    const lines = levelLines(field, 80, 80, 4);
    const radii = lines.map((line) => line.map(([x, y]) => Math.hypot(x - 40, y - 40)));
    expect(radii.map((all) => Math.round(all[0])).sort()).toEqual([16, 28]);
    for (const all of radii) {
      for (const r of all) expect(Math.min(Math.abs(r - 16), Math.abs(r - 28))).toBeLessThan(0.1);
    }
  });

  test('closes along the border of the grid', () => {
    const lines = levelLines(new Float32Array(30).fill(9), 6, 5, 1);
    expect(lines).toHaveLength(1);
    const xs = lines[0].map(([x]) => x);
    expect(Math.min(...xs)).toBeCloseTo(0, 0);
    expect(Math.max(...xs)).toBeCloseTo(6, 0);
  });
});

describe('regionStrokes', () => {
  test('painted, they give the region back within a per cent, its deepest places wholly', () => {
    const cases: Inside[] = [
      portrait,
      (x, y) => y < 60 + 25 * Math.sin(x / 19),
      (x) => x < 30 || x > 200,
      (x, y) => Math.hypot(x - 90, y - 80) < 50,
    ];
    for (const inside of cases) {
      const wanted = region(inside);
      const mask = erased(regionStrokes(wanted, WIDTH, HEIGHT, 0, ENOUGH).strokes);
      expect(wrong(mask, wanted)).toBeLessThan(0.01);
      const depth = depthField(wanted, WIDTH, HEIGHT);
      const left = mask.filter((value, i) => value > 0 && depth[i] > 4).length;
      expect(left).toBe(0);
    }
  });

  test('a soft edge fades over its width across the region’s edge', () => {
    const wanted = region((x) => x < 100);
    const { strokes } = regionStrokes(wanted, WIDTH, HEIGHT, 12, ENOUGH);
    const row = erased(strokes).slice(90 * WIDTH, 91 * WIDTH);
    expect(row[99] / 255).toBeCloseTo(0.5, 0);
    expect(Math.abs((row[99] + row[100]) / 2 - 127.5)).toBeLessThan(30);
    expect(row[96]).toBeGreaterThan(row[95]);
    expect(Math.max(...row.slice(0, 93))).toBeLessThanOrEqual(2);
    expect(Math.min(...row.slice(107))).toBeGreaterThanOrEqual(253);
    expect(wrong(erased(strokes), wanted)).toBeLessThan(0.01);
  });

  test('few strokes for a plain shape, all inside the piece’s limits', () => {
    const { strokes, coarser } = regionStrokes(region(portrait), WIDTH, HEIGHT, 1, ENOUGH);
    expect(coarser).toBe(false);
    expect(strokes.length).toBeLessThan(60);
    for (const stroke of strokes) {
      expect(strokeSchema.safeParse(stroke).success).toBe(true);
      expect(stroke.points.length).toBeLessThanOrEqual(MOST_POINTS);
    }
  });

  test('a ragged region is drawn more coarsely until it keeps to the limits, and says so', () => {
    const ragged = region((x, y) => x < 150 || (Math.floor(x / 6) + Math.floor(y / 6)) % 2 === 0);
    const tight = { strokes: 40, points: 1500 };
    const { strokes, coarser, finestDots } = regionStrokes(ragged, WIDTH, HEIGHT, 0, tight);
    expect(coarser).toBe(true);
    expect(finestDots).toBeGreaterThan(2.5);
    expect(strokes.length).toBeGreaterThan(0);
    expect(strokes.length).toBeLessThanOrEqual(40);
    expect(strokes.reduce((sum, { points }) => sum + points.length, 0)).toBeLessThanOrEqual(1500);
    // The calm part is still erased.
    const mask = erased(strokes);
    expect(mask[90 * WIDTH + 60]).toBe(0);
    expect(mask[10 * WIDTH + 10]).toBe(0);
  });

  test('nothing to erase needs no strokes', () => {
    expect(regionStrokes(new Uint8Array(WIDTH * HEIGHT), WIDTH, HEIGHT, 0, ENOUGH).strokes).toEqual([]);
  });
});
