import { type DitherKernel, ditherWith, FLOYD_STEINBERG, JARVIS_JUDICE_NINKE, STUCKI } from '@thi.ng/pixel-dither';
import { describe, expect, test } from 'vitest';
import {
  createBayerMatrix,
  DIFFUSION_KERNELS,
  type DiffusionKernel,
  type DiffusionMethod,
  diffuseValues,
} from '../../src/image/screens/screen-tone.ts';
import { toneWeights } from '../../src/image/screens/tone-dependent.ts';
import golden from '../fixtures/screens/golden.json' with { type: 'json' };
import fixture from '../fixtures/screens/screens.json' with { type: 'json' };

/**
 * Our weights and matrices, run under other programs' rounding rules, give those programs' pictures bit by bit.
 * Tolerance: none.
 */
const { width, height } = fixture;
const grey = Uint8Array.from(Buffer.from(fixture.grey, 'hex'));

function bitsOf(hex: string): string {
  return [...Buffer.from(hex, 'hex')].map((byte) => byte.toString(2).padStart(8, '0')).join('');
}

interface Convention {
  /** Value at a dot from the picture and the weighted errors (not yet divided) that reached it. */
  value(grey: number, errors: number): number;
  share(error: number, weight: number): number;
  isWhite(value: number): boolean;
}

/** Textbook diffusion, row by row, all rounding left to the convention. */
function diffuse(kernel: DiffusionKernel, convention: Convention): string {
  const errors = new Float64Array(width * height);
  let bits = '';
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const value = convention.value(grey[y * width + x], errors[y * width + x]);
      const white = convention.isWhite(value);
      bits += white ? '1' : '0';
      for (const { dx, dy, weight } of kernel.taps) {
        if (x + dx < 0 || x + dx >= width || y + dy >= height) continue;
        errors[(y + dy) * width + x + dx] += convention.share(value - (white ? 255 : 0), weight);
      }
    }
  }
  return bits;
}

describe('error diffusion', () => {
  test('Floyd–Steinberg as Pillow 9.4.0 does it: whole numbers, clipped, white above 128', () => {
    const bits = diffuse(DIFFUSION_KERNELS['floyd-steinberg'], {
      value: (pixel, errors) => Math.min(255, Math.max(0, pixel + Math.trunc(errors / 16))),
      share: (error, weight) => error * weight,
      isWhite: (value) => value > 128,
    });
    expect(bits).toBe(bitsOf(fixture.pillowFloydSteinberg));
  });

  /** The package divides by a power of two, to whose exponent the weights are scaled. */
  const cases: [DiffusionMethod, DitherKernel, number][] = [
    ['floyd-steinberg', FLOYD_STEINBERG, 4],
    ['jarvis-judice-ninke', JARVIS_JUDICE_NINKE, 6],
    // Their shift is 256 / 42 = 6.095, which the shift operator takes as 6.
    ['stucki', STUCKI, 6],
  ];

  /** Just as much of an image as `ditherWith` asks for. */
  function runPackage(kernel: DitherKernel): string {
    const channel = { data: new Int32Array(grey) };
    const image = {
      width,
      height,
      format: { channels: [{ num: 256, mask0: 255 }] },
      getChannel: () => channel,
      setChannel: () => undefined,
    };
    ditherWith(kernel, image as never, {});
    return [...channel.data].map((value) => (value ? '1' : '0')).join('');
  }

  test.each(cases)(
    '%s as @thi.ng/pixel-dither 1.1.205 does it: shares cut, then floored; white from 128',
    (method, theirs, bits) => {
      const kernel = DIFFUSION_KERNELS[method];
      const result = diffuse(kernel, {
        value: (pixel, errors) => pixel + errors,
        share: (error, weight) => Math.trunc(error * (weight * (2 ** bits / kernel.divisor))) >> bits,
        isWhite: (value) => value >= 128,
      });
      expect(result).toBe(runPackage(theirs));
    },
  );
});

describe('our own convention: floating point, white from half, shares beside the picture dropped', () => {
  // The same in exact fractions, with weights typed in anew (test/fixtures/screens/make-golden.py).
  describe.each(['raster', 'serpentine'] as const)('%s', (order) => {
    test.each(Object.entries(golden[order]))('%s', (method, rows) => {
      const kernel = DIFFUSION_KERNELS[method as DiffusionMethod];
      const values = new Float32Array(64).fill(64 / 255);
      const out = diffuseValues(values, 8, 8, kernel, { serpentine: order === 'serpentine' });
      const lines = rows.map((_, y) => [...out.subarray(y * 8, y * 8 + 8)].map((dot) => (dot ? '#' : '.')).join(''));
      expect(lines).toEqual(rows);
    });
  });

  test('covers every kernel', () => {
    expect(Object.keys(golden.raster).sort()).toEqual(Object.keys(DIFFUSION_KERNELS).sort());
  });
});

describe('weights', () => {
  test.each(Object.entries(DIFFUSION_KERNELS))('of %s add up', (_, kernel) => {
    const sum = kernel.taps.reduce((total, tap) => total + tap.weight, 0);
    expect(sum / kernel.divisor).toBe(1);
    expect(kernel.taps.every((tap) => tap.dy > 0 || tap.dx > 0)).toBe(true);
  });

  /** As the authors' own program prints them between its key levels (Zhou and Fang 2003), to six places; 180 is 75 mirrored. */
  test.each([
    [5, 0.60657, 0.037983, 0.355447],
    [17, 0.496672, 0.281144, 0.222184],
    [42, 0.44496, 0.331142, 0.223897],
    [66, 0.36928, 0.458756, 0.171964],
    [90, 0.349914, 0.355039, 0.295048],
    [105, 0.338259, 0.369964, 0.291778],
    [120, 0.343785, 0.369475, 0.286741],
    [180, 0.396934, 0.524665, 0.078401],
  ])('of tone %i are those of the paper', (tone, ...printed) => {
    // They write whole numbers of six places, so two of them may be off by one.
    toneWeights(tone).forEach((weight, i) => {
      expect(Math.abs(weight - printed[i])).toBeLessThan(3e-6);
    });
  });
});

describe('ordered screens as ImageMagick 6.9.11-60 makes them: white where v · (n + 1) / 255 ≥ rank + 1', () => {
  // Its 8 × 8 map runs down where the others run across.
  test.each([
    [2, fixture.imageMagickO2x2, false],
    [4, fixture.imageMagickO4x4, false],
    [8, fixture.imageMagickO8x8, true],
  ])('matrix of %i', (size, hex, turned) => {
    const { ranks } = createBayerMatrix(size);
    let bits = '';
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const rank = turned ? ranks[(x % size) * size + (y % size)] : ranks[(y % size) * size + (x % size)];
        bits += (grey[y * width + x] * (size * size + 1)) / 255 >= rank + 1 ? '1' : '0';
      }
    }
    expect(bits).toBe(bitsOf(hex));
  });

  test('4 × 4 is the matrix printed in DHALF.TXT', () => {
    expect([...createBayerMatrix(4).ranks].map((rank) => rank + 1)).toEqual([
      1, 9, 3, 11, 13, 5, 15, 7, 4, 12, 2, 10, 16, 8, 14, 6,
    ]);
  });
});
