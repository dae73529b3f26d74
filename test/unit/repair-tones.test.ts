import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { encodeSrgb, srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { luminanceToLightness } from '../../src/image/lightness.ts';
import { linearise } from '../../src/image/linearise.ts';
import { equalizeLocally } from '../../src/image/repair/clahe.ts';
import {
  type CastOptions,
  findFade,
  findPercentiles,
  liftFade,
  repairCast,
  repairFade,
} from '../../src/image/repair/fade.ts';
import { largestDifference, mirrored } from '../helpers/planes.ts';

/** Photographs that scikit-image ships, made small (test/fixtures/repair/make-repair.py). */
const read = (name: string) => decode(readFileSync(join(import.meta.dirname, '../fixtures/repair', name)));
const camera = read('camera.png');
const { width, height } = camera;
const photo = Float32Array.from(camera.data, (code) => code / 255);

describe('percentiles', () => {
  test('of an even ramp are the shares themselves; outliers, masked dots and not-a-number behave', () => {
    const ramp = Float32Array.from({ length: 100001 }, (_, i) => i / 100000);
    for (const share of [0.01, 0.25, 0.5, 0.99]) expect(findPercentiles(ramp, [share])[0]).toBeCloseTo(share, 3);
    expect(findPercentiles(Float32Array.of(-3, 0.5, 7, Number.NaN), [0, 0.5, 1])[2]).toBe(1);
    expect(findPercentiles(Float32Array.of(0.2, 0.9), [0.5], Uint8Array.of(255, 0))[0]).toBeCloseTo(0.2, 3);
    expect(findPercentiles(new Float32Array(0), [0.5])).toEqual([0]);
  });
});

describe('fade', () => {
  test('a faded photograph gets its tones back', () => {
    // Black and white moved together and the middle lightened, as fading does; then 8 bits.
    const faded = photo.map((value) => Math.round(255 * (0.3 + 0.45 * value ** 0.8)) / 255);
    const middle = findPercentiles(faded, [0.5])[0];
    const original = findPercentiles(photo, [0.5])[0];
    const stretched = (middle - 0.3) / 0.45;
    // Told how far the middle tone has to move, the repair is the inverse.
    const keepMiddle = (original - stretched) / (middle - stretched);
    const { plane, points } = repairFade(faded, width, height, { blackShare: 0, whiteShare: 0, keepMiddle });
    expect(points.black).toBeCloseTo(0.3, 2);
    expect(points.white).toBeCloseTo(0.75, 2);
    expect(points.gamma).toBeCloseTo(0.8, 1);
    // 8 bits over 0.45 of the range are steps of 0.0087, half of it either way, more where 1 / gamma steepens; the middle is found to 1/4096.
    expect(largestDifference(plane, photo)).toBeLessThan(0.02);
  });

  test('the middle tone keeps its lightness, or its place in the range', () => {
    const faded = photo.map((value) => 0.35 + 0.4 * value);
    const [middle] = findPercentiles(faded, [0.5]);
    const kept = findFade(faded, { keepMiddle: 1 });
    expect(liftFade(middle, kept)).toBeCloseTo(middle, 4);
    const placed = findFade(faded, { keepMiddle: 0 });
    expect(placed.gamma).toBeCloseTo(1, 10);
    expect(liftFade(middle, placed)).toBeCloseTo((middle - placed.black) / (placed.white - placed.black), 10);
  });

  test('rises, is held in 0–1, and amount blends', () => {
    const faded = photo.map((value) => 0.35 + 0.4 * value);
    const full = repairFade(faded, width, height).plane;
    const half = repairFade(faded, width, height, { amount: 0.5 }).plane;
    const none = repairFade(faded, width, height, { amount: 0 }).plane;
    expect(largestDifference(none, faded)).toBeLessThan(1e-6);
    half.forEach((value, i) => {
      expect(Math.abs(value - (full[i] + faded[i]) / 2)).toBeLessThan(1e-4);
    });
    expect([Math.min(...full), Math.max(...full)]).toEqual([0, 1]);
  });

  test('flat, empty and odd planes', () => {
    const flat = new Float32Array(12).fill(0.4);
    expect(largestDifference(repairFade(flat, 4, 3).plane, flat)).toBeLessThan(1e-6);
    expect(repairFade(new Float32Array(0), 0, 0).plane).toHaveLength(0);
    expect(repairFade(Float32Array.of(Number.NaN, 0.2, 0.8), 3, 1).plane.every((v) => v >= 0 && v <= 1)).toBe(true);
  });
});

describe('cast', () => {
  /** A photograph whose every colour reaches from 0 to 255, so that the tones it had are known. */
  const fresh = (name: string) => {
    const image = read(name);
    const data = Uint8Array.from(image.data);
    for (let k = 0; k < 3; k++) {
      let [low, high] = [255, 0];
      for (let i = k; i < data.length; i += 3) [low, high] = [Math.min(low, data[i]), Math.max(high, data[i])];
      for (let i = k; i < data.length; i += 3) data[i] = Math.round((255 * (data[i] - low)) / (high - low));
    }
    return { width: image.width, height: image.height, channels: 3 as const, data };
  };
  const all: Partial<CastOptions> = { blackShare: 0, whiteShare: 0 };
  const meanError = (a: Float32Array, b: Float32Array) =>
    a.reduce((sum, value, i) => sum + Math.abs(luminanceToLightness(value) - luminanceToLightness(b[i])), 0) / a.length;
  /** Encoded range left of each colour: yellowed, and with cyan dye gone. */
  const CASTS = {
    yellowed: [
      [0.12, 0.95],
      [0.1, 0.85],
      [0.08, 0.5],
    ],
    reddened: [
      [0.4, 0.97],
      [0.1, 0.8],
      [0.15, 0.75],
    ],
  };

  test.each(['astronaut.png', 'chelsea.png'])('%s gets the tones it had before it was yellowed or reddened', (name) => {
    const pixels = fresh(name);
    const truth = linearise(pixels).luminance;
    for (const ranges of Object.values(CASTS)) {
      const data = pixels.data.map((code, i) => {
        const [black, white] = ranges[i % 3];
        return Math.round(255 * (black + ((white - black) * code) / 255));
      });
      const aged = { ...pixels, data };
      const { picture, points } = repairCast(aged, all);
      points.forEach(({ black, white }, k) => {
        expect(Math.abs(black - ranges[k][0])).toBeLessThan(0.003);
        expect(Math.abs(white - ranges[k][1])).toBeLessThan(0.003);
      });
      // 8 bits over 0.42 of the range are steps of 0.0093; half of it, and a quarter on average.
      const left = meanError(picture.luminance, truth);
      expect(left).toBeLessThan(0.004);
      expect(meanError(linearise(aged).luminance, truth)).toBeGreaterThan(10 * left);
    }
  });

  test('grey levels alone cannot do that: colours that looked alike in the cast come apart', () => {
    const pixels = fresh('astronaut.png');
    const truth = linearise(pixels).luminance;
    const data = pixels.data.map((code, i) => {
      const [black, white] = CASTS.reddened[i % 3];
      return Math.round(255 * (black + ((white - black) * code) / 255));
    });
    const grey = linearise({ ...pixels, data }).luminance.map(luminanceToLightness);
    const lifted = repairFade(grey, pixels.width, pixels.height, { blackShare: 0, whiteShare: 0, keepMiddle: 0 }).plane;
    const error =
      lifted.reduce((sum, value, i) => sum + Math.abs(value - luminanceToLightness(truth[i])), 0) / lifted.length;
    expect(meanError(repairCast({ ...pixels, data }, all).picture.luminance, truth)).toBeLessThan(error / 5);
  });

  test('linear planes, 16-bit codes and bytes agree; transparent pixels do not count', () => {
    const pixels = fresh('chelsea.png');
    const data = pixels.data.map((code, i) => Math.round(20 + [0.9, 0.7, 0.4][i % 3] * code));
    const bytes = repairCast({ ...pixels, data });
    const table = srgbDecodingTable(8);
    const plane = (k: number) => Float32Array.from({ length: data.length / 3 }, (_, i) => table[data[3 * i + k]]);
    const { width: w, height: h } = pixels;
    const linear = repairCast({ width: w, height: h, red: plane(0), green: plane(1), blue: plane(2), alpha: null });
    // Points are found to 1/4096 of the encoded range there.
    expect(largestDifference(linear.picture.luminance, bytes.picture.luminance)).toBeLessThan(0.002);
    const deep = repairCast({ ...pixels, data: Uint16Array.from(data, (code) => code * 257) });
    expect(largestDifference(deep.picture.luminance, bytes.picture.luminance)).toBeLessThan(1e-6);

    const withAlpha = new Uint8Array((data.length / 3) * 4);
    for (let i = 0; i < data.length / 3; i++) {
      withAlpha.set(data.subarray(3 * i, 3 * i + 3), 4 * i);
      withAlpha[4 * i + 3] = 255;
    }
    // A transparent white pixel and a black one.
    withAlpha.set([255, 255, 255, 0, 0, 0, 0, 0], 0);
    const hole = repairCast({ ...pixels, channels: 4, data: withAlpha }, all);
    const whole = repairCast({ ...pixels, data }, all);
    expect(hole.points).toEqual(whole.points);
    expect(hole.picture.alpha![0]).toBe(0);
  });

  test('a grey picture, a flat one, and amount 0', () => {
    const grey = repairCast({ width: 3, height: 1, channels: 1, data: Uint8Array.of(51, 102, 204) }, all);
    expect(grey.points).toEqual([{ black: 0.2, white: 0.8 }]);
    expect([grey.picture.luminance[0], grey.picture.luminance[2]]).toEqual([0, 1]);
    expect(encodeSrgb(grey.picture.luminance[1])).toBeCloseTo(1 / 3, 5);
    const flat = { width: 2, height: 1, channels: 3 as const, data: Uint8Array.of(90, 80, 70, 90, 80, 70) };
    expect(repairCast(flat).picture).toEqual(linearise(flat));
    const pixels = fresh('chelsea.png');
    expect(
      largestDifference(repairCast(pixels, { amount: 0 }).picture.luminance, linearise(pixels).luminance),
    ).toBeLessThan(1e-6);
    expect(() => repairCast({ ...flat, width: 3 })).toThrow(RangeError);
  });
});

describe('local contrast', () => {
  test('one tile without a limit is plain histogram equalisation', () => {
    // Lightness u² of even u has the distribution √L.
    const side = 200;
    const plane = Float32Array.from({ length: side * side }, (_, i) => ((i + 0.5) / (side * side)) ** 2);
    const out = equalizeLocally(plane, side, side, { tiles: 1, slopeLimit: 256 });
    out.forEach((value, i) => {
      // A bin of 1/256 at the dark end spans 1/16 of the result; above it is straight enough.
      if (plane[i] > 1 / 256) expect(Math.abs(value - Math.sqrt(plane[i]))).toBeLessThan(0.012);
    });
  });

  test('a slope limit of 1 leaves the photograph as it is, and no curve is steeper than its limit', () => {
    expect(largestDifference(equalizeLocally(photo, width, height, { slopeLimit: 1 }), photo)).toBeLessThan(1e-5);
    for (const slopeLimit of [1.5, 3]) {
      // With one tile all dots have the same curve.
      const base = equalizeLocally(photo, width, height, { slopeLimit, tiles: 1 });
      let steepest = 0;
      for (let i = 1; i < photo.length; i++) {
        if (photo[i] > photo[i - 1]) steepest = Math.max(steepest, (base[i] - base[i - 1]) / (photo[i] - photo[i - 1]));
      }
      expect(steepest).toBeLessThan(slopeLimit + 0.001);
      expect(steepest).toBeGreaterThan(0.8 * slopeLimit);
    }
  });

  test('no seams between tiles, and a mirrored photograph gives the mirrored result', () => {
    const smooth = Float32Array.from({ length: width * height }, (_, i) => 0.3 + 0.4 * ((i % width) / width));
    const out = equalizeLocally(smooth, width, height, { tiles: 4 });
    for (let i = 1; i < width; i++) expect(Math.abs(out[i] - out[i - 1])).toBeLessThan(0.012);
    const turned = equalizeLocally(mirrored(photo, width), width, height);
    expect(largestDifference(mirrored(turned, width), equalizeLocally(photo, width, height))).toBeLessThan(1e-5);
  });

  test('amount blends, masked dots do not count, and odd input is harmless', () => {
    const full = equalizeLocally(photo, width, height);
    const half = equalizeLocally(photo, width, height, { amount: 0.5 });
    half.forEach((value, i) => {
      expect(Math.abs(value - (full[i] + photo[i]) / 2)).toBeLessThan(1e-6);
    });
    const framed = photo.slice();
    const mask = new Uint8Array(photo.length).fill(255);
    for (let i = 0; i < photo.length; i += 2) {
      framed[i] = 0;
      mask[i] = 0;
    }
    const other = framed.map((value, i) => (mask[i] ? value : 1));
    const a = equalizeLocally(framed, width, height, {}, mask);
    const b = equalizeLocally(other, width, height, {}, mask);
    for (let i = 1; i < a.length; i += 2) expect(a[i]).toBe(b[i]);
    expect(equalizeLocally(new Float32Array(0), 0, 0)).toHaveLength(0);
    expect(equalizeLocally(Float32Array.of(Number.NaN), 1, 1)[0]).toBeGreaterThanOrEqual(0);
    expect(() => equalizeLocally(photo, width, height, { slopeLimit: 0.5 })).toThrow(RangeError);
    expect(() => equalizeLocally(photo, width, height, { tiles: 0 })).toThrow(RangeError);
  });
});
