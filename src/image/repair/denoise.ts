import { boxMean, boxMoments } from './box-mean.ts';

interface DenoiseOptions {
  /** Dots on every side that are looked at, whole, ≥ 1. */
  readonly radius: number;
  /** Standard deviation of lightness (0–1) up to which a difference counts as noise. */
  readonly strength: number;
}

const DENOISE_DEFAULTS: DenoiseOptions = { radius: 3, strength: 0.03 };

/**
 * Noise reduction that keeps edges: the guided filter with the picture as its own guide. In every square around a dot the picture is
 * q = a · I + b with a = σ² / (σ² + strength²) and b = (1 − a) · mean, and each dot takes the mean of a and b over all squares it lies
 * in. Where the square is calm (σ far below the strength) that is the mean of means, across an edge (σ far above) the picture itself.
 * Source: K. He, J. Sun, X. Tang, "Guided image filtering", IEEE Trans. PAMI 35(6), 2013, eqs. 5, 6, 8 with p = I, ε = strength².
 * Test: the same equations with SciPy's uniform_filter (test/reference/repair.test.ts).
 * @param plane lightness 0–1, row-major; not-a-number spreads. @returns a new plane.
 * @throws RangeError if the radius is not a whole number ≥ 1.
 */
export function reduceNoise(
  plane: Float32Array,
  width: number,
  height: number,
  options: Partial<DenoiseOptions> = {},
): Float32Array {
  const { radius, strength } = { ...DENOISE_DEFAULTS, ...options };
  if (!(Number.isInteger(radius) && radius >= 1)) {
    throw new RangeError(`noise reduction needs a radius of whole dots, got ${radius}`);
  }
  if (!(strength > 0)) return plane.slice();
  const { mean, variance } = boxMoments(plane, width, height, radius);
  const epsilon = strength * strength;
  for (let i = 0; i < mean.length; i++) {
    const a = variance[i] / (variance[i] + epsilon);
    mean[i] = (1 - a) * mean[i];
    variance[i] = a;
  }
  const offset = boxMean(mean, width, height, radius);
  const slope = boxMean(variance, width, height, radius);
  for (let i = 0; i < offset.length; i++) offset[i] += slope[i] * plane[i];
  return offset;
}
