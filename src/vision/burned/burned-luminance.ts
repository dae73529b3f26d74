import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import { fitHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/point.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { lensOfPhoto } from '../slab/lens.ts';
import { rectifyPhoto } from '../slab/rectify.ts';

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
