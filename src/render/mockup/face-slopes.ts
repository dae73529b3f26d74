import type { Picture } from '../engine/gl.ts';

/** Steepest slope told apart; the same number is in shaders/mockup.frag. */
const RANGE = 0.3;

interface ReliefPicture {
  readonly width: number;
  readonly height: number;
  /** RGBA: height, roughness, … as `render/model/face-map.ts` draws it. */
  readonly data: Uint8Array | Uint8ClampedArray;
  readonly lowUm: number;
  readonly highUm: number;
  readonly pixelMm: number;
}

/**
 * Slopes of a relief as a texture: east and south round 128, their squares, and the roughness. Its smaller levels then hold mean slopes and mean
 * squares (M. Olano, D. Baker, "LEAN Mapping", I3D 2010).
 */
export function slopePicture({ width, height, data, lowUm, highUm, pixelMm }: ReliefPicture): Picture {
  const out = new Uint8Array(width * height * 4);
  const perCode = (highUm - lowUm) / 255 / 1000 / (2 * pixelMm);
  const cut = (slope: number): number => Math.max(-RANGE, Math.min(RANGE, slope));
  for (let y = 0; y < height; y++) {
    const north = Math.max(0, y - 1) * width;
    const south = Math.min(height - 1, y + 1) * width;
    for (let x = 0; x < width; x++) {
      const row = y * width;
      const east = cut((data[4 * (row + Math.min(width - 1, x + 1))] - data[4 * (row + Math.max(0, x - 1))]) * perCode);
      const down = cut((data[4 * (south + x)] - data[4 * (north + x)]) * perCode);
      const i = 4 * (row + x);
      out[i] = Math.round(128 + (127 * east) / RANGE);
      out[i + 1] = Math.round(128 + (127 * down) / RANGE);
      out[i + 2] = Math.round((255 * (east * east + down * down)) / (2 * RANGE * RANGE));
      out[i + 3] = data[i + 1];
    }
  }
  return { width, height, data: out };
}
