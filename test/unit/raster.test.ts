import { describe, expect, test } from 'vitest';
import { degToRad } from '../../src/base/units.ts';
import { lightnessToLuminance } from '../../src/image/lightness.ts';
import type { ToneImage } from '../../src/image/picture.ts';
import { createPassRaster, findSpans, orientToRaster } from '../../src/physics/raster/pass-raster.ts';
import { largestDifference, turnedHalf, turnedLeft } from '../helpers/planes.ts';

const toneOf = (width: number, height: number, at: (x: number, y: number) => number, hole = -1): ToneImage => ({
  width,
  height,
  lightness: Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width))),
  mask: Uint8Array.from({ length: width * height }, (_, i) => (i === hole ? 0 : 255)),
});

describe('createPassRaster', () => {
  test('heading 0 runs left to right, the first row at the far edge', () => {
    const raster = createPassRaster(3, 2, 0.1, 0);
    expect([raster.columns, raster.rows]).toEqual([30, 20]);
    // The picture's far left corner is the corner of the first dot of the first row.
    expect(raster.column[0]).toBeCloseTo(0, 12);
    expect(raster.row[0]).toBeCloseTo(0, 12);
    expect(raster.column.slice(1)).toEqual([10, -0]);
    expect(raster.row.slice(1)).toEqual([0, 10]);
  });

  test.each([
    // Heading, size, raster place of a point a quarter mm from the left and half a mm from the far edge.
    [0, [30, 20], [2.5, 5]],
    // Upwards in the picture, the first row at the left.
    [90, [20, 30], [15, 2.5]],
    [180, [30, 20], [27.5, 15]],
    [270, [20, 30], [5, 27.5]],
    [360, [30, 20], [2.5, 5]],
  ])('heading %d°', (degrees, size, [u, v]) => {
    const raster = createPassRaster(3, 2, 0.1, degToRad(degrees));
    expect([raster.columns, raster.rows]).toEqual(size);
    const place = ([origin, perX, perY]: readonly number[]) => origin + perX * 0.25 + perY * 0.5;
    expect(place(raster.column)).toBeCloseTo(u, 9);
    expect(place(raster.row)).toBeCloseTo(v, 9);
  });

  test('another heading turns counter-clockwise as seen from above and covers the whole picture', () => {
    const raster = createPassRaster(4, 3, 0.1, degToRad(30));
    // Along the row: to the right and, with y downwards, up.
    expect(raster.column[1]).toBeCloseTo(Math.cos(degToRad(30)) / 0.1, 9);
    expect(raster.column[2]).toBeCloseTo(-Math.sin(degToRad(30)) / 0.1, 9);
    for (const [x, y] of [
      [0, 0],
      [4, 0],
      [0, 3],
      [4, 3],
    ]) {
      const u = raster.column[0] + raster.column[1] * x + raster.column[2] * y;
      const v = raster.row[0] + raster.row[1] * x + raster.row[2] * y;
      // Sizes are whole dots.
      expect(u).toBeGreaterThan(-0.51);
      expect(u).toBeLessThan(raster.columns + 0.51);
      expect(v).toBeGreaterThan(-0.51);
      expect(v).toBeLessThan(raster.rows + 0.51);
    }
  });

  test('the smallest picture has one dot; none has none', () => {
    expect(createPassRaster(0.01, 0.01, 0.1, 0)).toMatchObject({ columns: 1, rows: 1 });
    for (const [w, h, p] of [
      [0, 1, 0.1],
      [1, -1, 0.1],
      [1, 1, 0],
      [Number.NaN, 1, 0.1],
    ])
      expect(() => createPassRaster(w, h, p, 0)).toThrow(RangeError);
  });
});

describe('orientToRaster', () => {
  const image = toneOf(7, 4, (x, y) => (x + 10 * y) / 100, 9);
  const oriented = (degrees: number) => orientToRaster(image, 0.1, createPassRaster(0.7, 0.4, 0.1, degToRad(degrees)));

  test('heading 0 is the picture itself', () => expect(oriented(0)).toBe(image));

  test('heading 180° is turned by half, exactly', () => {
    const turned = oriented(180);
    expect(turned.lightness).toEqual(turnedHalf(image.lightness));
    expect(turned.mask).toEqual(image.mask.slice().reverse());
  });

  test.each([90, 270])('heading %d° is turned so that the rows run that way, exactly', (degrees) => {
    const turned = oriented(degrees);
    expect([turned.width, turned.height]).toEqual([4, 7]);
    // Rows run up the picture (down for 270°): the raster is the picture turned the other way.
    const left = turnedLeft(image.lightness, 7);
    expect(turned.lightness).toEqual(degrees === 270 ? left : turnedHalf(left));
    expect(turned.mask.filter((value) => value === 0)).toHaveLength(1);
    const hole = turned.mask.indexOf(0);
    expect(turned.lightness[hole]).toBe(image.lightness[9]);
  });

  test('another heading: masked outside, an even picture stays even, a slope stays one', () => {
    const raster = createPassRaster(4, 3, 0.1, degToRad(25));
    const even = orientToRaster(
      toneOf(40, 30, () => 0.6),
      0.1,
      raster,
    );
    let inside = 0;
    even.mask.forEach((mask, i) => {
      if (mask === 0) return;
      inside++;
      expect(even.lightness[i]).toBeCloseTo(0.6, 5);
    });
    // As many dots as the picture has, but for the rim.
    expect(Math.abs(inside - 1200)).toBeLessThan(30);
    expect(even.mask[0]).toBe(0);

    // Interpolation is in linear light, so a slope of luminance is exact.
    const luminanceAt = (x: number, y: number) => 0.1 + 0.012 * x + 0.008 * y;
    const lightness = toneOf(40, 30, (x, y) => Math.cbrt(luminanceAt(x, y)) * 1.16 - 0.16);
    const slope = orientToRaster(lightness, 0.1, raster);
    for (let r = 0; r < raster.rows; r++) {
      for (let c = 0; c < raster.columns; c++) {
        const i = r * raster.columns + c;
        if (slope.mask[i] === 0) continue;
        // Raster axes are at right angles and of length 1/pitch.
        const u = (c + 0.5 - raster.column[0]) * 0.1;
        const v = (r + 0.5 - raster.row[0]) * 0.1;
        const cosine = Math.cos(degToRad(25));
        const sine = Math.sin(degToRad(25));
        const x = (cosine * u + sine * v) / 0.1 - 0.5;
        const y = (-sine * u + cosine * v) / 0.1 - 0.5;
        if (x < 0 || y < 0 || x > 39 || y > 29) continue;
        expect(lightnessToLuminance(slope.lightness[i])).toBeCloseTo(luminanceAt(x, y), 5);
      }
    }
  });

  test('a picture of one dot', () => {
    const one = toneOf(1, 1, () => 0.4);
    for (const degrees of [0, 90, 45]) {
      const raster = createPassRaster(0.1, 0.1, 0.1, degToRad(degrees));
      const turned = orientToRaster(one, 0.1, raster);
      expect(largestDifference(turned.lightness, Float32Array.of(0.4))).toBeLessThan(1e-6);
      expect(turned.mask[0]).toBe(255);
    }
  });
});

describe('findSpans', () => {
  const levels = Uint8Array.from([
    ...[0, 9, 0, 8, 0],
    ...[0, 0, 0, 0, 0],
    ...[9, 9, 9, 9, 9],
    ...[0, 0, 9, 0, 0],
    ...[3, 3, 3, 3, 3],
  ]);
  const mask = new Uint8Array(25).fill(255);
  const fires = (level: number) => level > 5;

  test('first and one past the last dot that fires; rows in which none does are skipped', () => {
    const spans = findSpans(levels, mask, 5, 5, fires, false);
    expect([...spans.first]).toEqual([1, 0, 0, 2, 0]);
    expect([...spans.end]).toEqual([4, 0, 5, 3, 0]);
    expect([...spans.backwards]).toEqual([0, 0, 0, 0, 0]);
  });

  test('two-way rows alternate over those that are travelled', () => {
    expect([...findSpans(levels, mask, 5, 5, fires, true).backwards]).toEqual([0, 0, 1, 0, 0]);
  });

  test('what is masked does not fire', () => {
    const partly = mask.slice();
    partly[1] = 0;
    partly.fill(0, 10, 13);
    const spans = findSpans(levels, partly, 5, 5, fires, true);
    expect([...spans.first]).toEqual([3, 0, 3, 2, 0]);
    expect([...spans.end]).toEqual([4, 0, 5, 3, 0]);
  });

  test('a source that fires at level 0 travels whole rows, but not where all is masked', () => {
    const partly = mask.slice();
    partly.fill(0, 20);
    const spans = findSpans(levels, partly, 5, 5, () => true, false);
    expect([...spans.end]).toEqual([5, 5, 5, 5, 0]);
  });

  test('no rows, one dot', () => {
    expect(findSpans(new Uint8Array(0), new Uint8Array(0), 5, 0, fires, true).first).toHaveLength(0);
    expect([...findSpans(Uint8Array.of(9), Uint8Array.of(1), 1, 1, fires, true).end]).toEqual([1]);
  });
});
