import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { luminancesToLightnesses } from '../../image/lightness.ts';
import { linearise } from '../../image/linearise.ts';
import type { TileLuminance } from './burned-luminance.ts';

/** Lightness of each pixel, 0–1, row-major. */
export interface Grey {
  readonly width: number;
  readonly height: number;
  readonly values: Float32Array;
}

/** CIE lightness of an sRGB photo. */
export function greyOf({ width, height, rgba }: RgbaPhoto): Grey {
  const { luminance } = linearise({ width, height, channels: 4, data: rgba });
  return { width, height, values: luminancesToLightnesses(luminance) };
}

/** Half as many pixels each way: means of four. */
export function halveGrey({ width, height, values }: Grey): Grey {
  const [half, halfHeight] = [Math.max(1, width >> 1), Math.max(1, height >> 1)];
  const means = new Float32Array(half * halfHeight);
  for (let y = 0; y < halfHeight; y++) {
    for (let x = 0; x < half; x++) {
      const i = 2 * y * width + 2 * x;
      means[y * half + x] = (values[i] + values[i + 1] + values[i + width] + values[i + width + 1]) / 4;
    }
  }
  return { width: half, height: halfHeight, values: means };
}

/** Half as many tiles each way: means of what is known of four, not a number if nothing is. Odd counts keep their whole width. */
export function halveTiles(tiles: TileLuminance): TileLuminance {
  const { columns, rows, pitchMm, luminance } = tiles;
  const [half, halfRows] = [columns >> 1, rows >> 1];
  const means = new Float32Array(half * halfRows);
  for (let row = 0; row < halfRows; row++) {
    for (let column = 0; column < half; column++) {
      const i = 2 * row * columns + 2 * column;
      const known = [i, i + 1, i + columns, i + columns + 1].map((at) => luminance[at]).filter((value) => value >= 0);
      means[row * half + column] =
        known.length > 0 ? known.reduce((sum, value) => sum + value, 0) / known.length : Number.NaN;
    }
  }
  return { ...tiles, columns: half, rows: halfRows, pitchMm: 2 * pitchMm, luminance: means };
}
