import type { Tone } from '../piece/schema.ts';
import { blurGaussian } from './gaussian-blur.ts';

/**
 * Unsharp mask in place: adds `amount` times what a Gaussian blur takes away. The radius is the blur's standard deviation.
 * Differences up to the threshold are left alone and larger ones count from the threshold on, so nothing jumps at it. Where the
 * mask is 0 nothing is changed, and the blur looks only at what the mask lets through.
 * @param lightness 0–1, row-major; the result is held in 0–1.
 * @param pitchMm size of a cell, > 0.
 */
export function applyUnsharpMask(
  image: { width: number; height: number; lightness: Float32Array; mask: Uint8Array },
  settings: Tone['unsharpMask'],
  pitchMm: number,
): void {
  const { width, height, lightness, mask } = image;
  const { amount, threshold } = settings;
  const sigma = settings.radiusMm / pitchMm;
  if (!(amount > 0 && sigma >= 0.05)) return;

  const masked = mask.includes(0);
  const seen = masked ? lightness.map((value, i) => (mask[i] ? value : 0)) : lightness;
  const blurred = blurGaussian(seen, width, height, sigma);
  const weight = masked
    ? blurGaussian(
        Float32Array.from(mask, (m) => (m ? 1 : 0)),
        width,
        height,
        sigma,
      )
    : null;
  for (let i = 0; i < lightness.length; i++) {
    if (masked && mask[i] === 0) continue;
    const difference = lightness[i] - (weight ? blurred[i] / weight[i] : blurred[i]);
    const excess =
      difference > threshold ? difference - threshold : difference < -threshold ? difference + threshold : 0;
    const value = lightness[i] + amount * excess;
    lightness[i] = Math.min(1, Math.max(0, value));
  }
}
