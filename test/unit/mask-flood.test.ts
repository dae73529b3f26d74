import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { type FloodOptions, removeBackground } from '../../src/image/mask/flood.ts';
import { mirrored } from '../helpers/planes.ts';

const WIDTH = 160;
const HEIGHT = 120;
const build = (value: (x: number, y: number) => number) =>
  Float32Array.from({ length: WIDTH * HEIGHT }, (_, i) => value(i % WIDTH, Math.floor(i / WIDTH)));
const cut = (lightness: Float32Array, options: Partial<FloodOptions> = {}) =>
  removeBackground({ width: WIDTH, height: HEIGHT, lightness }, options);
/** A head and shoulders that touch the lower edge. */
const isSubject = (x: number, y: number) => Math.hypot(x - 80, y - 50) < 28 || (y > 75 && Math.abs(x - 80) < 50);
/** Dots further from the subject's outline than `margin` that came out wrong. */
function wrong(mask: Uint8Array, margin: number): number {
  let count = 0;
  for (let y = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH; x++) {
      let [inside, outside] = [true, true];
      for (const [dx, dy] of [
        [0, 0],
        [margin, 0],
        [-margin, 0],
        [0, margin],
        [0, -margin],
      ]) {
        if (isSubject(x + dx, y + dy)) outside = false;
        else inside = false;
      }
      const value = mask[y * WIDTH + x];
      if ((inside && value < 250) || (outside && value > 5)) count++;
    }
  }
  return count;
}

/** Dots of 19200: cleaning rounds the corners between head and shoulders. */
const ROUNDED = 16;

describe('removeBackground', () => {
  const random = createGenerator(11);
  const grain = build(() => 0.02 * random.nextNormal());
  // The background shades from 0.55 to 0.95, the subject from 0.1 to 0.25: further than the tolerance.
  const scene = build((x, y) => (isSubject(x, y) ? 0.1 + (0.15 * y) / HEIGHT : 0.55 + (0.4 * x) / WIDTH)).map(
    (value, i) => value + grain[i],
  );

  test('a subject before a shaded, grainy background, from the sides', () => {
    expect(wrong(cut(scene), 5)).toBeLessThan(ROUNDED);
  });

  test('from a point too, following the shading; without following only as far as the tolerance', () => {
    expect(wrong(cut(scene, { from: [[0.02, 0.1]] }), 5)).toBeLessThan(ROUNDED);
    // The seed's own colour alone reaches 0.12 / 0.4 of the width and the grain.
    const near = cut(scene, { from: [[0.02, 0.1]], follow: 0 });
    expect(near[10 * WIDTH + 20]).toBe(0);
    expect(near[10 * WIDTH + 100]).toBe(255);
  });

  test('an edge stops the flood where tones are within the tolerance', () => {
    // A subject as light as the background, with a thin dark outline that the tolerance would not stop.
    const outlined = build((x, y) => {
      const distance = Math.abs(Math.hypot(x - 80, y - 60) - 35);
      return distance < 2 ? 0.4 : 0.6;
    });
    const stopped = cut(outlined, { tolerance: 0.3, edge: 0.04, softDots: 0 });
    expect(stopped[60 * WIDTH + 80]).toBe(255);
    expect(stopped[5 * WIDTH + 5]).toBe(0);
    expect(cut(outlined, { tolerance: 0.3, edge: 1, softDots: 0 })[60 * WIDTH + 80]).toBe(0);
  });

  test('colour tells apart what is equally light', () => {
    const lightness = new Float32Array(WIDTH * HEIGHT).fill(0.5);
    const a = build((x, y) => (isSubject(x, y) ? 0.4 : -0.2));
    const b = new Float32Array(WIDTH * HEIGHT).fill(0.1);
    const mask = removeBackground({ width: WIDTH, height: HEIGHT, lightness, a, b });
    expect(wrong(mask, 5)).toBeLessThan(ROUNDED);
    expect(cut(lightness).every((value) => value === 0)).toBe(true);
  });

  test('specks and pinholes are cleaned away, the edge is soft and as wide as asked', () => {
    const specked = scene.slice();
    // Dark specks of 2 × 2 in the background, light ones in the subject do not matter: the flood cannot come there.
    for (let y = 4; y < 20; y += 8)
      for (let x = 6; x < 150; x += 12) for (const d of [0, 1, WIDTH, WIDTH + 1]) specked[y * WIDTH + x + d] = 0.05;
    expect(wrong(cut(specked), 5)).toBeLessThan(ROUNDED);
    expect(wrong(cut(specked, { cleanDots: 0, growDots: 0 }), 5)).toBeGreaterThan(30);
    const between = (mask: Uint8Array) => mask.filter((value) => value > 0 && value < 255).length;
    expect(between(cut(scene, { softDots: 0 }))).toBe(0);
    expect(between(cut(scene, { softDots: 3 }))).toBeGreaterThan(2 * between(cut(scene, { softDots: 1 })));
  });

  test('growing takes the edge along that stopped the flood', () => {
    const area = (mask: Uint8Array) => mask.reduce((sum, value) => sum + value, 0);
    expect(area(cut(scene, { growDots: 3 }))).toBeLessThan(area(cut(scene, { growDots: 0 })));
  });

  test('the sky of a photograph goes, the man and his camera stay', () => {
    const image = decode(readFileSync(join(import.meta.dirname, '../fixtures/repair/camera.png')));
    const lightness = Float32Array.from(image.data, (code) => code / 255);
    const mask = removeBackground(
      { width: image.width, height: image.height, lightness },
      { from: ['top'], cleanDots: 1 },
    );
    const share = mask.filter((value) => value < 128).length / mask.length;
    // Light dots of the upper half are sky, dark ones the man.
    let [sky, man, right, kept] = [0, 0, 0, 0];
    for (let i = 0; i < mask.length / 2; i++) {
      if (lightness[i] > 0.65) [sky, right] = [sky + 1, right + (mask[i] < 128 ? 1 : 0)];
      if (lightness[i] < 0.2) [man, kept] = [man + 1, kept + (mask[i] > 200 ? 1 : 0)];
    }
    expect(share).toBeGreaterThan(0.15);
    expect(right / sky).toBeGreaterThan(0.9);
    expect(kept / man).toBeGreaterThan(0.9);
  });

  test('a mirrored picture gives the mirrored mask', () => {
    const symmetric = { from: ['left', 'right'] } as const;
    const straight = Float32Array.from(
      cut(
        build((x, y) => (isSubject(x + 7, y) ? 0.3 : 0.8)),
        symmetric,
      ),
    );
    const turned = Float32Array.from(
      cut(
        build((x, y) => (isSubject(WIDTH - 1 - x + 7, y) ? 0.3 : 0.8)),
        symmetric,
      ),
    );
    expect(mirrored(turned, WIDTH)).toEqual(straight);
  });

  test('nothing, one dot, not-a-number, and odd sizes', () => {
    const one = { width: 1, height: 1, lightness: Float32Array.of(0.5) };
    expect([...removeBackground(one)]).toEqual([0]);
    expect(removeBackground({ width: 0, height: 0, lightness: new Float32Array(0) })).toHaveLength(0);
    expect(cut(scene, { from: [] }).every((value) => value === 255)).toBe(true);
    const odd = scene.slice();
    odd[10 * WIDTH + 10] = Number.NaN;
    expect(cut(odd)[60 * WIDTH + 80]).toBe(255);
    expect(() => removeBackground({ ...one, width: 2 })).toThrow(RangeError);
  });
});
