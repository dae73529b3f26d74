import { Matrix, solve } from 'ml-matrix';
import { srgbDecodingTable } from '../../base/color/srgb.ts';
import { fitHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/outline.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { luminancesToLightnesses } from '../../image/lightness.ts';
import { linearise } from '../../image/linearise.ts';
import { lensOfPhoto, rectifyPhoto } from '../slab/rectify.ts';

/** Luminance of a photographed face in squares, row-major; not a number where the photo does not show it. */
export interface TileLuminance {
  readonly columns: number;
  readonly rows: number;
  readonly pitchMm: number;
  /** Left top corner from the slab's centre, y growing downwards, mm. */
  readonly leftMm: number;
  readonly topMm: number;
  readonly luminance: Float32Array;
}

/** Pixels of the flattened photo along a tile. */
const PIXELS = 4;

/**
 * Lays a photograph of a burned slab flat and averages it in squares, in linear light. `corners`: where the corners of the box round the
 * slab lie in the photo, pixels: left top, right top, right bottom, left bottom.
 * @throws RangeError for corners that cross or lie on a line, or a photo too small.
 */
export function burnedLuminance(
  photo: RgbaPhoto,
  corners: readonly Point[],
  slab: { readonly widthMm: number; readonly heightMm: number },
  pitchMm: number,
): TileLuminance {
  const { widthMm, heightMm } = slab;
  const [left, top] = [-widthMm / 2, -heightMm / 2];
  const box: Point[] = [
    [left, top],
    [-left, top],
    [-left, -top],
    [left, -top],
  ];
  const toMm = fitHomography(corners, box);
  const columns = Math.max(1, Math.floor(widthMm / pitchMm));
  const rows = Math.max(1, Math.floor(heightMm / pitchMm));
  const area = { leftMm: left, topMm: top, widthMm: columns * pitchMm, heightMm: rows * pitchMm };
  const flat = rectifyPhoto(photo, { lens: lensOfPhoto(photo), toMm }, area, pitchMm / PIXELS);
  const linear = srgbDecodingTable(8);
  const luminance = new Float32Array(columns * rows);
  const seen = new Float32Array(columns * rows);
  for (let y = 0; y < flat.height; y++) {
    for (let x = 0; x < flat.width; x++) {
      const at = 4 * (y * flat.width + x);
      if (flat.rgba[at + 3] < 128) continue;
      const tile = Math.min(rows - 1, Math.floor(y / PIXELS)) * columns + Math.min(columns - 1, Math.floor(x / PIXELS));
      luminance[tile] +=
        0.2126 * linear[flat.rgba[at]] + 0.7152 * linear[flat.rgba[at + 1]] + 0.0722 * linear[flat.rgba[at + 2]];
      seen[tile]++;
    }
  }
  for (let i = 0; i < luminance.length; i++) luminance[i] = seen[i] > 0 ? luminance[i] / seen[i] : Number.NaN;
  return { columns, rows, pitchMm, leftMm: left, topMm: top, luminance };
}

/** Tiles further from the fitted light than so many standard deviations are left out of the next fit. */
const OUTLIER = 2.5;

const ROUNDS = 3;

const FEWEST = 12;

/**
 * The light that falls on each tile, over its mean: a quadratic surface fitted to the logarithm of tiles that have all the same colour
 * (`same`), outliers left out. 1 everywhere if there are too few of them.
 */
export function lightOverTiles(
  { columns, rows, luminance }: TileLuminance,
  same: (tile: number) => boolean,
): Float32Array {
  const terms = (tile: number): number[] => {
    const x = (2 * ((tile % columns) + 0.5)) / columns - 1;
    const y = (2 * (Math.floor(tile / columns) + 0.5)) / rows - 1;
    return [1, x, y, x * x, x * y, y * y];
  };
  let used: number[] = [];
  for (let tile = 0; tile < luminance.length; tile++) if (luminance[tile] > 0 && same(tile)) used.push(tile);
  const light = new Float32Array(luminance.length).fill(1);
  if (used.length < FEWEST) return light;
  let factors: number[] = [];
  const fitted = (tile: number) => terms(tile).reduce((sum, term, k) => sum + term * factors[k], 0);
  for (let round = 0; round < ROUNDS; round++) {
    const target = Matrix.columnVector(used.map((tile) => Math.log(luminance[tile])));
    factors = solve(new Matrix(used.map(terms)), target, true).to1DArray();
    const misses = used.map((tile) => Math.log(luminance[tile]) - fitted(tile));
    const deviation = Math.sqrt(misses.reduce((sum, miss) => sum + miss * miss, 0) / misses.length);
    const kept = used.filter((_, i) => Math.abs(misses[i]) <= OUTLIER * deviation + 1e-9);
    if (kept.length < FEWEST) break;
    used = kept;
  }
  const mean = used.reduce((sum, tile) => sum + fitted(tile), 0) / used.length;
  return light.map((_, tile) => Math.exp(fitted(tile) - mean));
}

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
