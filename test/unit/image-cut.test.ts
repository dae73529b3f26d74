import { describe, expect, test } from 'vitest';
import { cutPicture } from '../../src/image/cut.ts';
import type { Picture } from '../../src/image/picture.ts';
import { intoCut, outOfCut, strokesInCut, strokesOutOfCut } from '../../src/piece/frame.ts';

/** A smooth picture told by a function of places in shares of its width. */
function pictureOf(width: number, height: number, light: (x: number, y: number) => number): Picture {
  const luminance = Float32Array.from({ length: width * height }, (_, i) =>
    light(((i % width) + 0.5) / width, (Math.floor(i / width) + 0.5) / width),
  );
  return { width, height, luminance, alpha: null };
}

const light = (x: number, y: number) => 0.5 + 0.2 * Math.sin(9 * x + 1) + 0.2 * Math.cos(7 * y);

describe('a cut of a photograph', () => {
  test('upright, holds the very pixels', () => {
    const picture = pictureOf(60, 40, light);
    const cut = { xMiddle: 0.5, yMiddle: 0.3, width: 0.5, height: 0.2, turnRad: 0 };
    const found = cutPicture(picture, cut, 30, 12);
    for (let y = 0; y < 12; y++) {
      for (let x = 0; x < 30; x++) {
        expect(found.luminance[y * 30 + x]).toBe(picture.luminance[(y + 12) * 60 + x + 15]);
      }
    }
  });

  test.each([0.2, -0.35])('turned by %f, holds what the photograph has there, at another size', (turnRad) => {
    const picture = pictureOf(300, 240, light);
    const cut = { xMiddle: 0.46, yMiddle: 0.42, width: 0.5, height: 0.35, turnRad };
    const found = cutPicture(picture, cut, 100, 70);
    expect([found.width, found.height]).toEqual([100, 70]);
    for (let y = 0; y < 70; y += 3) {
      for (let x = 0; x < 100; x += 3) {
        const [u, v] = outOfCut(cut, [(x + 0.5) / 100, (y + 0.5) / 100]);
        expect(found.luminance[y * 100 + x]).toBeCloseTo(light(u, v), 2);
        expect(found.alpha?.[y * 100 + x] ?? 1).toBeGreaterThan(0.999);
      }
    }
    // Counter-clockwise: what lies to the right of the middle in the photograph comes up.
    expect(Math.sign(intoCut(cut, [cut.xMiddle + 0.1, cut.yMiddle])[1] - 0.35)).toBe(-Math.sign(turnRad));
  });

  test('beside the photograph it is refused', () => {
    const cut = { xMiddle: 0.5, yMiddle: 3, width: 0.5, height: 0.2, turnRad: 0 };
    expect(() => cutPicture(pictureOf(20, 20, light), cut, 10, 4)).toThrow(/beside the photograph/);
  });

  test('strokes go into it and out of it again', () => {
    const cut = { xMiddle: 0.4, yMiddle: 0.5, width: 0.3, height: 0.6, turnRad: 0.3 };
    const stroke = { does: 'erase' as const, points: [[0.3, 0.4] as [number, number]], radius: 0.03, hardness: 0.5 };
    const [seen] = strokesInCut([stroke], cut);
    expect(seen.radius).toBeCloseTo(0.1, 12);
    const [back] = strokesOutOfCut([seen], cut);
    expect(back.points[0][0]).toBeCloseTo(0.3, 12);
    expect(back.points[0][1]).toBeCloseTo(0.4, 12);
    expect(back.radius).toBeCloseTo(0.03, 12);
    // The cut's own left top corner is its zero.
    expect(intoCut({ ...cut, turnRad: 0 }, [0.25, 0.2])).toEqual([expect.closeTo(0, 12), expect.closeTo(0, 12)]);
  });
});
