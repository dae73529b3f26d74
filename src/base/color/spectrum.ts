import { LuDecomposition, Matrix } from 'ml-matrix';
import { BAND_COUNT, CMF_X, CMF_Y, CMF_Z, D65 } from './cie-1931.ts';

export type Triple = readonly [number, number, number];
/** Reflectances 0–1 at 380, 390 … 730 nm. */
export type Spectrum = Float64Array;

const luminanceSum = D65.reduce((sum, power, i) => sum + power * CMF_Y[i], 0);
/** Weights that turn a reflectance spectrum into XYZ under D65 with Y = 1 for a perfect white (CIE 015). */
export const XYZ_WEIGHTS: readonly [Float64Array, Float64Array, Float64Array] = [CMF_X, CMF_Y, CMF_Z].map((curve) =>
  Float64Array.from(D65, (power, i) => (power * curve[i]) / luminanceSum),
) as unknown as [Float64Array, Float64Array, Float64Array];

/** XYZ (D65, 2°, Y of white = 1) of a reflectance spectrum. */
export function spectrumToXyz(reflectance: ArrayLike<number>): Triple {
  const sums = [0, 0, 0];
  for (let i = 0; i < BAND_COUNT; i++) {
    for (let k = 0; k < 3; k++) sums[k] += XYZ_WEIGHTS[k][i] * reflectance[i];
  }
  return [sums[0], sums[1], sums[2]];
}

/** XYZ of the perfect white in these tables. */
export const WHITE_XYZ: Triple = spectrumToXyz(new Float64Array(BAND_COUNT).fill(1));

/**
 * The smoothest reflectance spectrum with a given XYZ: minimises Σ(z_{i+1} − z_i)² for R = (1 + tanh z)/2 under the three colour
 * equations, by Newton's method on the Lagrangian. Source: S. A. Burns, "Numerical methods for smoothest reflectance
 * reconstruction", Color Res. Appl. 45 (2020); arXiv 1710.05732 (the LHTSS method). Always within 0–1.
 * @throws RangeError if the colour cannot be had from a reflecting surface (Newton's method does not settle).
 */
export function smoothestSpectrum(xyz: Triple): Spectrum {
  const n = BAND_COUNT;
  const weights = XYZ_WEIGHTS;
  const z = new Float64Array(n);
  const start = Math.min(0.995, Math.max(0.005, xyz[1]));
  z.fill(Math.atanh(2 * start - 1));
  const multipliers = [0, 0, 0];
  for (let iteration = 0; iteration < 60; iteration++) {
    const system = Matrix.zeros(n + 3, n + 3);
    const right = new Array<number>(n + 3).fill(0);
    const sums = [0, 0, 0];
    for (let i = 0; i < n; i++) {
      const tanh = Math.tanh(z[i]);
      const slope = (1 - tanh * tanh) / 2;
      const curvature = -tanh * (1 - tanh * tanh);
      const neighbours = (i === 0 ? 0 : 1) + (i === n - 1 ? 0 : 1);
      let pull = 0;
      for (let k = 0; k < 3; k++) {
        pull += multipliers[k] * weights[k][i];
        system.set(i, n + k, weights[k][i] * slope);
        system.set(n + k, i, weights[k][i] * slope);
        sums[k] += (weights[k][i] * (1 + tanh)) / 2;
      }
      system.set(i, i, 2 * neighbours + pull * curvature);
      let gradient = 2 * neighbours * z[i] + pull * slope;
      if (i > 0) {
        system.set(i, i - 1, -2);
        gradient -= 2 * z[i - 1];
      }
      if (i < n - 1) {
        system.set(i, i + 1, -2);
        gradient -= 2 * z[i + 1];
      }
      right[i] = -gradient;
    }
    for (let k = 0; k < 3; k++) right[n + k] = xyz[k] - sums[k];
    const step = solveOrNull(system, right);
    if (!step) break;
    let largest = 0;
    for (let i = 0; i < n; i++) largest = Math.max(largest, Math.abs(step[i]));
    // Long steps are shortened as a whole, so that they keep their direction.
    const share = Math.min(1, 1 / largest);
    for (let i = 0; i < n; i++) z[i] += share * step[i];
    for (let k = 0; k < 3; k++) multipliers[k] += share * step[n + k];
    if (largest < 1e-9) return Float64Array.from(z, (value) => (1 + Math.tanh(value)) / 2);
  }
  throw new RangeError(`no reflecting surface has the colour XYZ ${xyz.map((v) => v.toFixed(3)).join(', ')}`);
}

/** Solution of the linear equations; null where they are singular: some band has run away to 0 or 1. */
function solveOrNull(system: Matrix, right: readonly number[]): number[] | null {
  const decomposition = new LuDecomposition(system);
  return decomposition.isSingular() ? null : decomposition.solve(Matrix.columnVector([...right])).to1DArray();
}
