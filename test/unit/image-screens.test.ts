import { describe, expect, test } from 'vitest';
import { lightnessToLuminance } from '../../src/image/lightness.ts';
import type { ToneImage } from '../../src/image/picture.ts';
import {
  createBayerMatrix,
  createBlueNoiseMatrix,
  createClusteredDotMatrix,
  DIFFUSION_KERNELS,
  diffuseValues,
  SCREENS,
  screenTone,
} from '../../src/image/screens/screen-tone.ts';
import { SCREEN_METHODS } from '../../src/piece/schema.ts';

function flat(width: number, height: number, lightness: number): ToneImage {
  const count = width * height;
  return { width, height, lightness: new Float32Array(count).fill(lightness), mask: new Uint8Array(count).fill(255) };
}

const lights = (out: Uint8Array) => out.reduce((count, dot) => count + (dot ? 1 : 0), 0);

describe('screenTone', () => {
  describe.each(SCREEN_METHODS)('%s', (method) => {
    test.each([
      [0, 0],
      [0, 3],
      [1, 1],
      [3, 1],
      [1, 5],
      [37, 19],
    ])('black stays dark and white light on %i × %i', (width, height) => {
      for (const serpentine of [false, true]) {
        expect(lights(screenTone(flat(width, height, 0), method, { serpentine }))).toBe(0);
        const white = screenTone(flat(width, height, 1), method, { serpentine });
        expect(white.length).toBe(width * height);
        expect(white.every((dot) => dot === 255)).toBe(true);
      }
    });

    test('NaN counts as black, and does not spread', () => {
      const image = flat(9, 9, 0.9);
      image.lightness[40] = Number.NaN;
      const out = screenTone(image, method);
      const black = flat(9, 9, 0.9);
      black.lightness[40] = 0;
      expect(out).toEqual(screenTone(black, method));
    });

    test('masked-out dots stay 0', () => {
      const image = flat(20, 20, 0.8);
      for (let i = 0; i < 400; i += 3) image.mask[i] = 0;
      const out = screenTone(image, method);
      for (let i = 0; i < 400; i += 3) expect(out[i]).toBe(0);
      expect(lights(out)).toBeGreaterThan(100);
    });
  });

  test('continuous tone is 255 × lightness, rounded', () => {
    for (let i = 0; i <= 100; i++) {
      const [share] = screenTone(flat(1, 1, i / 100), 'continuous');
      expect(Math.abs(share - (255 * i) / 100)).toBeLessThanOrEqual(0.501);
    }
  });

  test('dots average in linear light, not in lightness', () => {
    const share = lights(screenTone(flat(64, 64, 0.5), 'bayer-16')) / 4096;
    expect(share).toBeCloseTo(lightnessToLuminance(0.5), 2);
    expect(share).toBeLessThan(0.2);
  });

  test('error does not cross what is masked out', () => {
    // Three columns of picture on either side of a gap wider than the kernel: each side comes out as if alone.
    const image = flat(9, 30, 0.7);
    for (let i = 0; i < image.mask.length; i++) if (i % 9 >= 3 && i % 9 <= 5) image.mask[i] = 0;
    const out = screenTone(image, 'floyd-steinberg', { serpentine: false });
    const alone = screenTone(flat(3, 30, 0.7), 'floyd-steinberg', { serpentine: false });
    for (let y = 0; y < 30; y++) {
      expect(out.subarray(y * 9, y * 9 + 3)).toEqual(alone.subarray(y * 3, y * 3 + 3));
      expect(out.subarray(y * 9 + 6, y * 9 + 9)).toEqual(alone.subarray(y * 3, y * 3 + 3));
    }
  });

  test('a half-covered flat area has half the light', () => {
    const image = flat(64, 64, 0.9);
    image.mask.fill(128);
    const half = lights(screenTone(image, 'bayer-16')) / 4096;
    expect(half).toBeCloseTo((lightnessToLuminance(0.9) * 128) / 255, 2);
  });

  test('arrays of the wrong length are refused', () => {
    expect(() => screenTone({ ...flat(3, 3, 0), mask: new Uint8Array(8) }, 'stucki')).toThrow(RangeError);
    expect(() => diffuseValues(new Float32Array(5), 2, 2, DIFFUSION_KERNELS.stucki)).toThrow(RangeError);
  });
});

describe('SCREENS', () => {
  test('describes every method once, in the order of the schema', () => {
    expect(SCREENS.map((screen) => screen.method)).toEqual([...SCREEN_METHODS]);
    for (const screen of SCREENS) expect(screen.note.length).toBeGreaterThan(20);
  });

  test.each(SCREENS)('$method tells the truth about serpentine rows', ({ method, serpentine }) => {
    const image = flat(40, 40, 0.55);
    const differs = !Buffer.from(screenTone(image, method, { serpentine: true })).equals(
      screenTone(image, method, { serpentine: false }),
    );
    expect(differs).toBe(serpentine);
  });
});

describe('matrices', () => {
  test('a clustered dot grows round its two centres and mirrors into holes', () => {
    const { ranks } = createClusteredDotMatrix(8);
    const light = (share: number) => [...ranks].map((rank) => rank < share * 64);
    const quarter = light(1 / 4);
    // 16 light dots: eight round the corner of the tile, eight round its middle.
    const nearMiddle = quarter.filter(
      (isLight, i) => isLight && Math.abs((i % 8) - 3.5) + Math.abs((i >> 3) - 3.5) < 4,
    );
    expect(nearMiddle.length).toBe(8);
    for (const i of [0, 7, 56, 63, 27, 28, 35, 36]) expect(quarter[i]).toBe(true);
    for (const i of [3, 4, 24, 31, 32, 39, 59, 60]) expect(light(7 / 8)[i]).toBe(false);
  });

  test('blue noise is the same for the same seed, and pinned', () => {
    const one = createBlueNoiseMatrix({ size: 32, seed: 5 });
    expect(createBlueNoiseMatrix({ size: 32, seed: 5 })).toEqual(one);
    expect(createBlueNoiseMatrix({ size: 32, seed: 6 })).not.toEqual(one);
    // Value computed by this project: it must not drift, for a piece must burn tomorrow as it was proofed today.
    const sum = createBlueNoiseMatrix().ranks.reduce((hash, rank) => (Math.imul(hash, 31) + rank) | 0, 0);
    expect(sum).toBe(1269146790);
  });

  test('impossible sizes are refused', () => {
    expect(() => createBayerMatrix(3)).toThrow(RangeError);
    expect(() => createBayerMatrix(0)).toThrow(RangeError);
    expect(() => createClusteredDotMatrix(5)).toThrow(RangeError);
    expect(() => createBlueNoiseMatrix({ size: 1, seed: 1 })).toThrow(RangeError);
  });
});
