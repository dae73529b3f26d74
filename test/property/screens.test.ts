import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { lightnessToLuminance, luminanceToLightness } from '../../src/image/lightness.ts';
import type { ToneImage } from '../../src/image/picture.ts';
import {
  createBayerMatrix,
  createBlueNoiseMatrix,
  createClusteredDotMatrix,
  DIFFUSION_KERNELS,
  diffuseValues,
  screenTone,
  type ThresholdMatrix,
} from '../../src/image/screens/screen-tone.ts';
import { SCREEN_METHODS } from '../../src/piece/schema.ts';

const blueNoise = createBlueNoiseMatrix();
const MATRICES: (readonly [string, ThresholdMatrix])[] = [
  ['Bayer 2', createBayerMatrix(2)],
  ['Bayer 4', createBayerMatrix(4)],
  ['Bayer 8', createBayerMatrix(8)],
  ['Bayer 16', createBayerMatrix(16)],
  ['clustered dot', createClusteredDotMatrix(8)],
  ['blue noise', blueNoise],
];

describe('every matrix', () => {
  test.each(MATRICES)('%s holds each rank once', (_, { size, ranks }) => {
    expect([...ranks].sort((a, b) => a - b)).toEqual(Array.from({ length: size * size }, (_, i) => i));
  });
});

function flat(width: number, height: number, luminance: number): ToneImage {
  const count = width * height;
  return {
    width,
    height,
    lightness: new Float32Array(count).fill(luminanceToLightness(luminance)),
    mask: new Uint8Array(count).fill(255),
  };
}

describe('a flat tone keeps its mean', () => {
  const SIDE = 128;
  const MARGIN = 16;

  /** Share of light dots, away from the edges, where errors are lost or have not built up yet. */
  function shareWithin(out: Uint8Array): number {
    let sum = 0;
    for (let y = MARGIN; y < SIDE - MARGIN; y++) {
      for (let x = MARGIN; x < SIDE - MARGIN; x++) sum += out[y * SIDE + x] / 255;
    }
    return sum / (SIDE - 2 * MARGIN) ** 2;
  }

  describe.each(SCREEN_METHODS.filter((method) => method !== 'continuous'))('%s', (method) => {
    test.each([0.03, 0.1, 0.25, 0.5, 0.72, 0.95])('%d', (luminance) => {
      for (const serpentine of [false, true]) {
        const share = shareWithin(screenTone(flat(SIDE, SIDE, luminance), method, { serpentine }));
        // A tile of n thresholds is exact within half a step; diffusion within a few dots at the border of the window.
        const step = method === 'bayer-2' ? 1 / 8 : method === 'bayer-4' ? 1 / 32 : 0.01;
        expect(Math.abs(share - luminance)).toBeLessThanOrEqual(step + 1e-6);
      }
    });
  });

  test.each(MATRICES)('%s: round(g × thresholds) dots of a tile are light', (_, { size, ranks }) => {
    for (let step = 0; step <= 40; step++) {
      const g = step / 40;
      const lights = ranks.reduce((sum, rank) => sum + (g >= (rank + 0.5) / (size * size) ? 1 : 0), 0);
      expect(lights).toBe(Math.round(g * size * size));
    }
  });
});

describe('a lighter picture has nowhere fewer light dots', () => {
  test.each(['bayer-8', 'clustered-dot', 'blue-noise'] as const)('%s', (method) => {
    const darker = screenTone(flat(70, 70, 0.4), method);
    const lighter = screenTone(flat(70, 70, 0.45), method);
    expect(darker.every((dot, i) => lighter[i] >= dot)).toBe(true);
  });
});

describe('a mirrored picture screened the other way gives the mirrored result', () => {
  const width = 53;
  const height = 31;
  const random = createGenerator(3);
  const values = Float32Array.from(
    { length: width * height },
    (_, i) => (i % width) / width / 2 + random.nextUnit() / 2,
  );
  const mirror = <T extends Float32Array | Uint8Array>(plane: T): T =>
    plane.map((_, i) => plane[i - (i % width) + width - 1 - (i % width)]) as T;

  test.each(Object.entries(DIFFUSION_KERNELS))('%s', (_, kernel) => {
    for (const serpentine of [false, true]) {
      const straight = diffuseValues(values, width, height, kernel, { serpentine });
      const other = diffuseValues(mirror(values), width, height, kernel, { serpentine, firstRow: 'leftwards' });
      expect(mirror(other)).toEqual(straight);
    }
  });
});

describe('a gradient is followed', () => {
  test.each(SCREEN_METHODS)('%s', (method) => {
    // Lightness from 0 to 1 across; each column's mean light over the height against its own luminance, over 16 columns.
    const width = 256;
    const height = 128;
    const image = flat(width, height, 0);
    image.lightness.forEach((_, i) => {
      image.lightness[i] = (i % width) / (width - 1);
    });
    const out = screenTone(image, method);
    for (let band = 0; band < width; band += 16) {
      let got = 0;
      let wanted = 0;
      for (let y = 0; y < height; y++) {
        for (let x = band; x < band + 16; x++) {
          const share = out[y * width + x] / 255;
          got += method === 'continuous' ? lightnessToLuminance(share) : share;
          wanted += lightnessToLuminance(image.lightness[y * width + x]);
        }
      }
      const tolerance = method === 'bayer-2' ? 0.13 : method === 'bayer-4' ? 0.04 : 0.02;
      expect(Math.abs(got - wanted) / (16 * height)).toBeLessThan(tolerance);
    }
  });
});

describe('blue noise has little power at low frequencies', () => {
  // Principal frequency √g cycles per dot, at most the ½ that a square grid can carry in every direction (Ulichney, "Dithering with blue noise", Proc. IEEE 76(1), 1988). Mean power
  // below half of it, over the mean of all, for which white noise has 1 and a regular screen more.
  test.each([0.005, 0.02, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.97])('at a tone of %d', (g) => {
    const { size, ranks } = blueNoise;
    const dots = Float64Array.from(ranks, (rank) => (g >= (rank + 0.5) / (size * size) ? 1 : 0));
    const power = powerSpectrum(dots, size);
    const half = Math.min(0.5, Math.sqrt(Math.min(g, 1 - g))) / 2;
    let total = 0;
    let low = 0;
    let lowCount = 0;
    for (let i = 1; i < power.length; i++) {
      total += power[i];
      const u = Math.min(i % size, size - (i % size));
      const row = Math.floor(i / size);
      const v = Math.min(row, size - row);
      if (Math.sqrt(u * u + v * v) >= half * size) continue;
      low += power[i];
      lowCount++;
    }
    // Twenty dots in a tile are too few for a tenth.
    expect(low / lowCount / (total / (power.length - 1))).toBeLessThan(g < 0.05 ? 0.14 : 0.1);
  });
});

/** Squared size of the discrete Fourier transform of a square, straight from its definition, rows then columns. */
function powerSpectrum(values: Float64Array, size: number): Float64Array {
  const cos = Float64Array.from({ length: size }, (_, i) => Math.cos((2 * Math.PI * i) / size));
  const sin = Float64Array.from({ length: size }, (_, i) => Math.sin((2 * Math.PI * i) / size));
  const along = (re: Float64Array, im: Float64Array, step: number, line: number): [Float64Array, Float64Array] => {
    const outRe = new Float64Array(re.length);
    const outIm = new Float64Array(re.length);
    for (let l = 0; l < size; l++) {
      for (let k = 0; k < size; k++) {
        for (let n = 0; n < size; n++) {
          const at = l * line + n * step;
          const turn = (k * n) % size;
          outRe[l * line + k * step] += re[at] * cos[turn] + im[at] * sin[turn];
          outIm[l * line + k * step] += im[at] * cos[turn] - re[at] * sin[turn];
        }
      }
    }
    return [outRe, outIm];
  };
  const [rowRe, rowIm] = along(values, new Float64Array(values.length), 1, size);
  const [re, im] = along(rowRe, rowIm, size, 1);
  return re.map((value, i) => value * value + im[i] * im[i]);
}
