import { describe, expect, test } from 'vitest';
import { type BrushStroke, brushCover, paintStrokes } from '../../src/image/mask/brush.ts';

const WIDTH = 200;
const HEIGHT = 100;
const full = () => new Uint8Array(WIDTH * HEIGHT).fill(255);
const at = (mask: Uint8Array, x: number, y: number) => mask[y * WIDTH + x];
const stroke = (more: Partial<BrushStroke> = {}): BrushStroke => ({
  does: 'erase',
  points: [
    [0.25, 0.25],
    [0.75, 0.25],
  ],
  radius: 0.05,
  hardness: 0.5,
  ...more,
});
const paint = (strokes: readonly BrushStroke[], from: Uint8Array = full(), whole: Uint8Array | null = null) =>
  paintStrokes(from, WIDTH, HEIGHT, strokes, whole);

describe('paintStrokes', () => {
  test('erases a soft-edged line: whole inside the hardness, fading to the rim, nothing beyond', () => {
    const mask = paint([stroke()]);
    // The line runs at 50 dots from the top, between the dots 49 and 50; radius 10 dots.
    for (const x of [50, 73, 149]) {
      for (let y = 0; y < HEIGHT; y++) {
        const distance = Math.abs(y - 49.5) / 10;
        expect(at(mask, x, y)).toBe(Math.round(255 * (1 - brushCover(distance, 0.5))));
      }
    }
    expect(at(mask, 100, 50)).toBe(0);
    expect(at(mask, 100, 60)).toBe(255);
    // Round ends.
    expect(at(mask, 41, 50)).toBeGreaterThan(200);
    expect(at(mask, 43, 43)).toBeGreaterThan(200);
    expect(at(mask, 38, 50)).toBe(255);
  });

  test('the brush falls smoothly from its hardness to its rim', () => {
    expect([0, 0.5, 0.75, 1, 2].map((d) => brushCover(d, 0.5))).toEqual([1, 1, 0.5, 0, 0]);
    expect([0.99, 1].map((d) => brushCover(d, 1))).toEqual([1, 1]);
    expect(brushCover(1.0001, 1)).toBe(0);
    for (let d = 0; d < 1; d += 0.01) expect(brushCover(d + 0.01, 0)).toBeLessThanOrEqual(brushCover(d, 0));
  });

  test('one point is a dab, points close together leave no dabs, a stroke over itself is no stronger', () => {
    const dab = paint([stroke({ points: [[0.5, 0.25]] })]);
    expect(at(dab, 100, 50)).toBe(0);
    expect(dab.filter((value) => value < 255).length).toBeLessThan(Math.PI * 100 + 20);
    const fine = Array.from({ length: 101 }, (_, i) => [0.25 + i / 200, 0.25] as const);
    expect(paint([stroke({ points: fine })])).toEqual(paint([stroke()]));
    expect(
      paint([
        stroke({
          points: [
            [0.25, 0.25],
            [0.75, 0.25],
            [0.25, 0.25],
          ],
        }),
      ]),
    ).toEqual(paint([stroke()]));
    // Two strokes are.
    expect(at(paint([stroke(), stroke()]), 100, 57)).toBeLessThan(at(paint([stroke()]), 100, 57));
  });

  test('the last is undone by leaving it out, and the mask given is not touched', () => {
    const first = stroke();
    const mask = full();
    const before = paint([first], mask);
    const after = paint(
      [
        first,
        stroke({
          points: [
            [0.5, 0],
            [0.5, 0.5],
          ],
        }),
      ],
      mask,
    );
    expect(after).not.toEqual(before);
    expect(paint([first], mask)).toEqual(before);
    expect(mask).toEqual(full());
  });

  test('restoring brings back what was erased, no further than the whole, and never takes away', () => {
    const whole = full().map((_, i) => (i % WIDTH < 100 ? 255 : 60));
    const erased = paint([stroke({ radius: 0.1, hardness: 1 })], whole);
    const back = paint([stroke({ does: 'restore', radius: 0.2, hardness: 1 })], erased, whole);
    expect(back).toEqual(whole);
    expect(paint([stroke({ does: 'restore', radius: 0.2 })], full(), whole)).toEqual(full());
    const half = paint([stroke({ does: 'restore' })], new Uint8Array(WIDTH * HEIGHT));
    expect(Math.abs(at(half, 100, 57) + at(paint([stroke()]), 100, 57) - 255)).toBeLessThanOrEqual(1);
  });

  test('the same strokes on a mask of another size cover the same places', () => {
    const coarse = paint([stroke()]);
    const fine = paintStrokes(new Uint8Array(4 * WIDTH * HEIGHT).fill(255), 2 * WIDTH, 2 * HEIGHT, [stroke()]);
    let worst = 0;
    for (let y = 0; y < HEIGHT; y++) {
      for (let x = 0; x < WIDTH; x++) {
        const four = [0, 1, 2 * WIDTH, 2 * WIDTH + 1].reduce((sum, d) => sum + fine[4 * y * WIDTH + 2 * x + d], 0) / 4;
        worst = Math.max(worst, Math.abs(four - at(coarse, x, y)));
      }
    }
    expect(worst).toBeLessThan(4);
  });

  test('strokes that leave the picture, without points, and impossible brushes', () => {
    const over = paint([
      stroke({
        points: [
          [-1, -1],
          [2, 2],
        ],
      }),
    ]);
    expect(at(over, 0, 0)).toBe(0);
    expect(paint([stroke({ points: [[5, 5]] }), stroke({ points: [] })])).toEqual(full());
    expect(paintStrokes(new Uint8Array(0), 0, 0, [stroke()])).toHaveLength(0);
    expect(() => paint([stroke({ radius: 0 })])).toThrow(RangeError);
    expect(() => paint([stroke({ hardness: 1.5 })])).toThrow(RangeError);
  });
});
