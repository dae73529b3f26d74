/**
 * Contrast around the middle lightness: a smooth, rising curve that leaves 0, 0.5 and 1 where they are. Its slope in the middle
 * is s = (1 + c) / (1 − c) and at both ends 1 / s, so nothing is clipped: c = 1/3 doubles the slope, c = −1/3 halves it, c = 1
 * makes a step, c = −1 a flat mid grey.
 * Equation for x ≤ 0.5, mirrored above: y = x / ((s − 1)(1 − 2x) + 1).
 * Source: C. Schlick, "Fast alternatives to Perlin's bias and gain functions", Graphics Gems IV, 1994 (with s = 1/a − 1).
 * @param lightness 0–1. @param contrast −1 … 1.
 */
export function applyContrast(lightness: number, contrast: number): number {
  if (contrast === 0) return lightness;
  const steepness = Math.min(STEEPEST, Math.max(1 / STEEPEST, (1 + contrast) / (1 - contrast))) - 1;
  const half = (x: number): number => x / (steepness * (1 - 2 * x) + 1);
  return lightness <= 0.5 ? half(lightness) : 1 - half(1 - lightness);
}

const STEEPEST = 1e6;
