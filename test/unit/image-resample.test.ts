import { describe, expect, test } from 'vitest';
import type { Picture } from '../../src/image/picture.ts';
import { resamplePicture } from '../../src/image/resample.ts';

const picture = (width: number, height: number, value: (x: number, y: number) => number): Picture => ({
  width,
  height,
  luminance: Float32Array.from({ length: width * height }, (_, i) => value(i % width, Math.floor(i / width))),
  alpha: null,
});

describe('resamplePicture', () => {
  test.each([
    [1, 1, 7, 5],
    [7, 5, 1, 1],
    [300, 5, 301, 5],
    [5, 300, 6, 261],
    [8, 8, 8, 3],
  ])('a flat picture of %i × %i stays flat at %i × %i', (width, height, toWidth, toHeight) => {
    const result = resamplePicture(
      picture(width, height, () => 0.37),
      toWidth,
      toHeight,
    );
    expect([result.width, result.height, result.luminance.length]).toEqual([toWidth, toHeight, toWidth * toHeight]);
    for (const value of result.luminance) expect(Math.abs(value - 0.37)).toBeLessThan(3e-5);
    expect(result.alpha).toBeNull();
  });

  test('black stays exactly black and white exactly white', () => {
    expect(
      new Set(
        resamplePicture(
          picture(9, 7, () => 0),
          20,
          13,
        ).luminance,
      ),
    ).toEqual(new Set([0]));
    expect(
      new Set(
        resamplePicture(
          picture(9, 7, () => 1),
          20,
          13,
        ).luminance,
      ),
    ).toEqual(new Set([1]));
  });

  test('a mirrored picture gives the mirrored result, strip borders included', () => {
    const value = (x: number, y: number) => (Math.sin(x * 1.7 + y * 0.3) + 1) / 2;
    const straight = resamplePicture(picture(290, 300, value), 317, 270);
    const mirrored = resamplePicture(
      picture(290, 300, (x, y) => value(289 - x, y)),
      317,
      270,
    );
    let worst = 0;
    for (let y = 0; y < 270; y++) {
      for (let x = 0; x < 317; x++) {
        worst = Math.max(worst, Math.abs(straight.luminance[y * 317 + x] - mirrored.luminance[y * 317 + 316 - x]));
      }
    }
    expect(worst).toBeLessThan(5e-5);
  });

  test('the same size is the picture itself', () => {
    const same = picture(4, 3, () => 0.5);
    expect(resamplePicture(same, 4, 3)).toBe(same);
  });

  test('what lies under transparent pixels does not bleed', () => {
    const half: Picture = {
      ...picture(40, 10, (x) => (x < 20 ? 0.25 : 1)),
      alpha: Float32Array.from({ length: 400 }, (_, i) => (i % 40 < 20 ? 1 : 0)),
    };
    const result = resamplePicture(half, 57, 13);
    expect(result.alpha![0]).toBe(1);
    expect(result.alpha![56]).toBe(0);
    for (let i = 0; i < result.luminance.length; i++) {
      if (result.alpha![i] > 0.02) expect(Math.abs(result.luminance[i] - 0.25)).toBeLessThan(0.01);
      if (result.alpha![i] === 0) expect(result.luminance[i]).toBe(0);
    }
  });

  test('not-a-number counts as 0 and does not spread as NaN', () => {
    const result = resamplePicture(
      picture(6, 6, (x, y) => (x === 3 && y === 3 ? Number.NaN : 0.5)),
      9,
      9,
    );
    expect(result.luminance.every((value) => value >= 0 && value <= 1)).toBe(true);
  });

  test('impossible sizes are refused', () => {
    expect(() =>
      resamplePicture(
        picture(2, 2, () => 0),
        0,
        2,
      ),
    ).toThrow(RangeError);
    expect(() =>
      resamplePicture(
        picture(2, 2, () => 0),
        2.5,
        2,
      ),
    ).toThrow(RangeError);
    expect(() =>
      resamplePicture(
        picture(0, 0, () => 0),
        2,
        2,
      ),
    ).toThrow(RangeError);
  });
});
