import { blurGaussian } from './gaussian-blur.ts';

/** From where a piece is looked at, mm, unless it is said otherwise: an arm's length. */
const VIEWING_MM = 400;

/** Luminance of a slab on a wall indoors, cd/m² (estimate). */
const LUMINANCE_CD_PER_M2 = 20;

/**
 * Spatial frequency, cycles/mm, at which the eye's filter has fallen to 1/e:
 * `f₀ = (c·ln L + d) / (2 D tan ½°)`, c = 0.525, d = 3.91, L the mean luminance in cd/m², D the distance in mm.
 * Source: R. Näsänen, "Visibility of halftone dot textures", IEEE Trans. Syst. Man Cybern. 14(6) 920–924, 1984 (values from memory).
 */
export const eyeCutOff = (distanceMm = VIEWING_MM, luminanceCdPerM2 = LUMINANCE_CD_PER_M2): number =>
  (0.525 * Math.log(luminanceCdPerM2) + 3.91) / (2 * distanceMm * Math.tan(Math.PI / 360));

/**
 * Näsänen's filter `exp(−f/f₀)` as a sum of Gaussians, which can be applied along rows and columns: shares, and standard deviations times 2πf₀.
 * Least squares over 0 … 7 f₀; off by at most 0.034, next to the cusp at f = 0. Test: test/reference/eye-filter.test.ts.
 */
const GAUSSIANS = [
  [0.3188, 0.6422],
  [0.44625, 1.7018],
  [0.23495, 7.554],
] as const;

/** Shares and standard deviations of the Gaussians, in cells of a pitch. */
export const eyeGaussians = (pitchMm: number, cutOff = eyeCutOff()): [share: number, sigma: number][] =>
  GAUSSIANS.map(([share, sigma]) => [share, sigma / (2 * Math.PI * cutOff * pitchMm)]);

/** A plane of luminances as the eye sees it. */
export function seenPlane(plane: Float32Array, width: number, height: number, pitchMm: number): Float32Array {
  const sum = new Float32Array(plane.length);
  for (const [share, sigma] of eyeGaussians(pitchMm)) {
    const blurred = blurGaussian(plane, width, height, sigma);
    for (let i = 0; i < sum.length; i++) sum[i] += share * blurred[i];
  }
  return sum;
}
