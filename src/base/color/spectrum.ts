import { LuDecomposition, Matrix } from 'ml-matrix';

/**
 * CIE 1931 2° colour-matching functions and relative power of illuminant D65 at 10 nm, 380–730 nm (36 samples).
 * Source: CIE 015 (Colorimetry) tables, in the rounding of Debian's python3-colormath 3.0.0 (`spectral_constants.py`).
 */
export const BAND_START_NM = 380;

export const BAND_STEP_NM = 10;

export const BAND_COUNT = 36;

export const CMF_X: readonly number[] = [
  0.001368, 0.004243, 0.01431, 0.04351, 0.13438, 0.2839, 0.34828, 0.3362, 0.2908, 0.19536, 0.09564, 0.03201, 0.0049,
  0.0093, 0.06327, 0.1655, 0.2904, 0.43345, 0.5945, 0.7621, 0.9163, 1.0263, 1.0622, 1.0026, 0.85445, 0.6424, 0.4479,
  0.2835, 0.1649, 0.0874, 0.04677, 0.0227, 0.011359, 0.00579, 0.002899, 0.00144,
];

export const CMF_Y: readonly number[] = [
  3.9e-5, 0.00012, 0.000396, 0.00121, 0.004, 0.0116, 0.023, 0.038, 0.06, 0.09098, 0.13902, 0.20802, 0.323, 0.503, 0.71,
  0.862, 0.954, 0.99495, 0.995, 0.952, 0.87, 0.757, 0.631, 0.503, 0.381, 0.265, 0.175, 0.107, 0.061, 0.032, 0.017,
  0.00821, 0.004102, 0.002091, 0.001047, 0.00052,
];

export const CMF_Z: readonly number[] = [
  0.00645, 0.02005, 0.06785, 0.2074, 0.6456, 1.3856, 1.74706, 1.77211, 1.6692, 1.28764, 0.81295, 0.46518, 0.272, 0.1582,
  0.07825, 0.04216, 0.0203, 0.00875, 0.0039, 0.0021, 0.00165, 0.0011, 0.0008, 0.00034, 0.00019, 5e-5, 2e-5, 0.0, 0.0,
  0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
];

export const D65: readonly number[] = [
  49.92, 54.6, 82.69, 91.42, 93.37, 86.63, 104.81, 116.96, 117.76, 114.82, 115.89, 108.78, 109.33, 107.78, 104.78,
  107.68, 104.4, 104.04, 100.0, 96.34, 95.79, 88.69, 90.02, 89.61, 87.71, 83.3, 83.72, 80.05, 80.24, 82.3, 78.31, 69.74,
  71.63, 74.37, 61.62, 69.91,
];

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
