import { lightnessToLuminance, luminanceToLightness } from '../../image/lightness.ts';
import type { ToneImage } from '../../image/picture.ts';
import type { PassRaster } from './pass-raster.ts';

/**
 * The prepared picture as the pass's raster sees it. Straight headings pick pixels; others interpolate bilinearly in linear
 * light. Dots whose centre lies outside the picture are masked.
 * `imagePitchMm` is the size of one pixel of `image` on the slab.
 */
export function orientToRaster(image: ToneImage, imagePitchMm: number, raster: PassRaster): ToneImage {
  const { column, row } = raster;
  const determinant = column[1] * row[2] - column[2] * row[1];
  // Raster place back to picture place, in pixels.
  const inverse = [row[2], -column[2], -row[1], column[1]].map((v) => v / determinant / imagePitchMm);
  const same =
    raster.columns === image.width &&
    raster.rows === image.height &&
    Math.abs(inverse[0] - 1) < 1e-9 &&
    Math.abs(inverse[3] - 1) < 1e-9;
  if (same) return image;

  const lightness = new Float32Array(raster.columns * raster.rows);
  const mask = new Uint8Array(lightness.length);
  const straight = inverse.every((v) => Math.abs(v - Math.round(v)) < 1e-6);
  for (let r = 0; r < raster.rows; r++) {
    for (let c = 0; c < raster.columns; c++) {
      const u = c + 0.5 - column[0];
      const v = r + 0.5 - row[0];
      const x = inverse[0] * u + inverse[1] * v - 0.5;
      const y = inverse[2] * u + inverse[3] * v - 0.5;
      const nearX = Math.round(x);
      const nearY = Math.round(y);
      if (nearX < 0 || nearY < 0 || nearX >= image.width || nearY >= image.height) continue;
      const from = nearY * image.width + nearX;
      const to = r * raster.columns + c;
      mask[to] = image.mask[from];
      lightness[to] = straight ? image.lightness[from] : bilinear(image, x, y);
    }
  }
  return { width: raster.columns, height: raster.rows, lightness, mask };
}

function bilinear(image: ToneImage, x: number, y: number): number {
  const clampX = Math.min(Math.max(x, 0), image.width - 1);
  const clampY = Math.min(Math.max(y, 0), image.height - 1);
  const x0 = Math.min(Math.floor(clampX), Math.max(0, image.width - 2));
  const y0 = Math.min(Math.floor(clampY), Math.max(0, image.height - 2));
  const x1 = Math.min(x0 + 1, image.width - 1);
  const y1 = Math.min(y0 + 1, image.height - 1);
  const at = (px: number, py: number) => lightnessToLuminance(image.lightness[py * image.width + px]);
  const fx = clampX - x0;
  const fy = clampY - y0;
  const top = at(x0, y0) * (1 - fx) + at(x1, y0) * fx;
  const bottom = at(x0, y1) * (1 - fx) + at(x1, y1) * fx;
  return luminanceToLightness(top * (1 - fy) + bottom * fy);
}
