import { describe, expect, test } from 'vitest';
import { simplifyLine } from '../../src/base/geometry/outline.ts';
import { paintStrokes } from '../../src/image/mask/brush.ts';
import { finishStroke } from '../../src/page/image/mask/MaskTable.tsx';
import type { StrokePoint } from '../../src/page/image/mask/stroke-points.ts';

const scribble = (count: number): StrokePoint[] =>
  Array.from({ length: count }, (_, i) => [0.2 + (0.6 * i) / count, 0.4 + 0.15 * Math.sin(i / 6)]);

describe('a line made simpler', () => {
  test('keeps ends and corners, drops what lies on a line', () => {
    const line: StrokePoint[] = Array.from({ length: 50 }, (_, i) => [i / 100, 0.1]);
    const corner: StrokePoint[] = [
      ...line,
      ...Array.from({ length: 50 }, (_, i): StrokePoint => [0.49, 0.1 + i / 100]),
    ];
    expect(simplifyLine(corner, 0.001)).toEqual([
      [0, 0.1],
      [0.49, 0.1],
      [0.49, 0.59],
    ]);
  });

  test('a stroke that goes out and comes back keeps its far end', () => {
    const out: StrokePoint[] = [
      [0.1, 0.1],
      [0.5, 0.1],
      [0.9, 0.1],
      [0.5, 0.1],
      [0.1, 0.1],
    ];
    expect(simplifyLine(out, 0.001)).toContainEqual([0.9, 0.1]);
  });

  test('a single point stays, and so do the ends of a stroke that did not move', () => {
    expect(simplifyLine([[0.3, 0.3]], 0.01)).toEqual([[0.3, 0.3]]);
    const same: StrokePoint[] = Array.from({ length: 9 }, () => [0.3, 0.3]);
    expect(simplifyLine(same, 0.01)).toHaveLength(2);
  });
});

describe('finishStroke', () => {
  const brush = { does: 'erase', radius: 0.01, hardness: 1 } as const;

  test('a long scribble becomes strokes of 200 points at most, joined, and none of it is lost', () => {
    const parts = finishStroke(brush, scribble(5000));
    expect(parts.length).toBeGreaterThan(1);
    for (let i = 0; i < parts.length; i++) {
      expect(parts[i].points.length).toBeLessThanOrEqual(200);
      expect(parts[i].points.length).toBeGreaterThan(1);
      if (i > 0) expect(parts[i].points[0]).toEqual(parts[i - 1].points.at(-1));
    }
    const points = parts.flatMap((part) => part.points);
    expect(points.at(-1)?.[0]).toBeCloseTo(0.2 + (0.6 * 4999) / 5000, 4);
    // All its turning points are there.
    expect(Math.max(...points.map(([, y]) => y))).toBeGreaterThan(0.545);
  });

  test('exactly full strokes leave no rest of one point', () => {
    const zigzag = (count: number) => Array.from({ length: count }, (_, i): StrokePoint => [i / 1000, i % 2]);
    expect(finishStroke(brush, zigzag(200)).map((part) => part.points.length)).toEqual([200]);
    expect(finishStroke(brush, zigzag(201)).map((part) => part.points.length)).toEqual([200, 2]);
    expect(finishStroke(brush, zigzag(1)).map((part) => part.points.length)).toEqual([1]);
  });

  test('a thinned stroke paints what was drawn', () => {
    const soft = { does: 'erase', radius: 0.04, hardness: 0.5 } as const;
    const points = scribble(300);
    const [thin, ...rest] = finishStroke(soft, points);
    expect(rest).toEqual([]);
    expect(thin.points.length).toBeLessThan(150);
    const paint = (stroke: typeof thin) => paintStrokes(new Uint8Array(400 * 300).fill(255), 400, 300, [stroke]);
    const [drawn, kept] = [paint({ ...soft, points }), paint(thin)];
    const off = drawn.reduce((most, value, i) => Math.max(most, Math.abs(value - kept[i])), 0);
    expect(off).toBeLessThan(40);
  });
});
