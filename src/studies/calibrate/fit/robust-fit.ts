import { CholeskyDecomposition, EigenvalueDecomposition, inverse, Matrix } from 'ml-matrix';

/** Least squares with what was known before. Numbers to fit are shifts from where the prior has its middle, in its own units. */
interface FitProblem {
  /** (measured − predicted) / deviation for every measurement, at a place. */
  readonly residuals: (at: Float64Array) => Float64Array;
  /** Prior: lower triangle of the covariance of the shifts, and its middle. */
  readonly priorLower: readonly (readonly number[])[];
  readonly priorMean: Float64Array;
}

interface FitOptions {
  /** Degrees of freedom of the t-distribution of measurements: 4 lets one misread patch go for nearly nothing. */
  readonly dataFreedom: number;
  /** The same for the prior: presets may be far off, and then should not pull. */
  readonly priorFreedom: number;
  readonly most: number;
  /** Step of the numerical derivatives. */
  readonly step: number;
}

export const FIT_OPTIONS: FitOptions = { dataFreedom: 4, priorFreedom: 4, most: 40, step: 0.004 };

export interface FitResult {
  readonly at: Float64Array;
  /** Covariance of the shifts. */
  readonly covariance: number[][];
  readonly residuals: Float64Array;
  /** 0 … 1.25: how much each measurement counted. */
  readonly weights: Float64Array;
  /** What the measurements alone say: JᵀWJ. */
  readonly information: number[][];
  readonly cost: number;
  readonly settled: boolean;
}

/**
 * The most likely shifts, by Levenberg's and Marquardt's method on iteratively reweighted least squares: measurements and prior each follow
 * Student's t, weight (ν + 1) / (ν + r²).
 *
 * Sources: K. Levenberg, Q. Appl. Math. 2, 164 (1944); D. W. Marquardt, J. SIAM 11, 431 (1963); K. L. Lange, R. J. A. Little, J. M. G. Taylor,
 * "Robust statistical modeling using the t distribution", J. Am. Stat. Assoc. 84, 881 (1989) (values from memory).
 * Test: test/unit/robust-fit.test.ts, test/reference/two-parameter-fit.test.ts.
 */
export function robustFit(problem: FitProblem, options: FitOptions = FIT_OPTIONS): FitResult {
  const { dataFreedom, priorFreedom } = options;
  const n = problem.priorMean.length;
  const whitening = inverse(new Matrix(problem.priorLower.map((row) => [...row])));
  const white = (at: Float64Array): number[] => {
    const away = Array.from(at, (value, i) => value - problem.priorMean[i]);
    return Array.from({ length: n }, (_, i) => away.reduce((sum, value, k) => sum + whitening.get(i, k) * value, 0));
  };
  const costOf = (residuals: ArrayLike<number>, prior: ArrayLike<number>): number => {
    let sum = 0;
    for (let i = 0; i < residuals.length; i++) sum += logT(residuals[i], dataFreedom);
    for (let i = 0; i < prior.length; i++) sum += logT(prior[i], priorFreedom);
    return sum;
  };
  let at = Float64Array.from(problem.priorMean);
  let residuals = problem.residuals(at);
  let settled = false;
  /** Goes downhill with all deviations widened by `scale`. */
  const descend = (scale: number, rounds: number, tolerance: number): void => {
    const widened = (values: Float64Array) => (scale === 1 ? values : values.map((value) => value / scale));
    let prior = white(at);
    let cost = costOf(widened(residuals), prior);
    let damping = 1e-3;
    settled = false;
    for (let round = 0; round < rounds && !settled; round++) {
      const slopes = slopesAt(problem, at, residuals, options.step);
      const parts = normalEquations(slopes.mul(1 / scale), widened(residuals), prior, whitening, options);
      let better = false;
      while (!better && damping < 1e5) {
        const step = solve(parts.matrix, parts.gradient, damping);
        const next = Float64Array.from(at, (value, i) => value + Math.min(0.5, Math.max(-0.5, step[i])));
        const nextResiduals = problem.residuals(next);
        const nextPrior = white(next);
        const nextCost = costOf(widened(nextResiduals), nextPrior);
        if (nextCost < cost) {
          better = true;
          settled = cost - nextCost < tolerance * (1 + cost);
          [at, residuals, prior, cost] = [next, nextResiduals, nextPrior, nextCost];
          damping = Math.max(1e-9, damping / 10);
        } else {
          damping = Math.max(1e-4, damping) * 8;
        }
      }
      if (!better) settled = true;
    }
  };
  // Far from the answer everything looks misread: the deviations start wide and are drawn in.
  for (let scale = spreadOf(residuals); scale > 1; scale = Math.min(scale / 3, spreadOf(residuals))) {
    descend(scale, 5, 1e-2);
  }
  descend(1, options.most, 1e-6);
  const slopes = slopesAt(problem, at, residuals, options.step, true);
  const parts = normalEquations(slopes, residuals, white(at), whitening, options);
  return {
    at,
    covariance: inverse(parts.matrix).to2DArray(),
    residuals,
    weights: parts.weights,
    information: parts.information.to2DArray(),
    cost: costOf(residuals, white(at)),
    settled,
  };
}

/** Root mean square of the residuals: what the deviations would have to be for them to look usual. */
const spreadOf = (residuals: Float64Array): number =>
  Math.sqrt(residuals.reduce((sum, value) => sum + value * value, 0) / Math.max(1, residuals.length));

const logT = (r: number, freedom: number): number => 0.5 * (freedom + 1) * Math.log(1 + (r * r) / freedom);

const weightOf = (r: number, freedom: number): number => (freedom + 1) / (freedom + r * r);

/** Derivatives of the residuals by differences: to one side on the way, to both at the end, where the covariance hangs on them. */
function slopesAt(
  { residuals }: FitProblem,
  at: Float64Array,
  here: Float64Array,
  step: number,
  bothSides = false,
): Matrix {
  const slopes = Matrix.zeros(here.length, at.length);
  for (let k = 0; k < at.length; k++) {
    const side = (sign: number) => residuals(at.map((value, i) => (i === k ? value + sign * step : value)));
    const up = side(1);
    const down = bothSides ? side(-1) : here;
    const span = bothSides ? 2 * step : step;
    for (let i = 0; i < here.length; i++) slopes.set(i, k, (up[i] - down[i]) / span);
  }
  return slopes;
}

function normalEquations(
  slopes: Matrix,
  residuals: Float64Array,
  prior: readonly number[],
  whitening: Matrix,
  { dataFreedom, priorFreedom }: FitOptions,
) {
  const n = slopes.columns;
  const weights = residuals.map((r) => weightOf(r, dataFreedom));
  const priorWeights = prior.map((r) => weightOf(r, priorFreedom));
  const information = Matrix.zeros(n, n);
  const gradient = new Float64Array(n);
  for (let i = 0; i < residuals.length; i++) {
    for (let a = 0; a < n; a++) {
      const weighted = weights[i] * slopes.get(i, a);
      if (weighted === 0) continue;
      gradient[a] -= weighted * residuals[i];
      for (let b = 0; b < n; b++) information.set(a, b, information.get(a, b) + weighted * slopes.get(i, b));
    }
  }
  const matrix = information.clone();
  for (let i = 0; i < n; i++) {
    for (let a = 0; a < n; a++) {
      const weighted = priorWeights[i] * whitening.get(i, a);
      gradient[a] -= weighted * prior[i];
      for (let b = 0; b < n; b++) matrix.set(a, b, matrix.get(a, b) + weighted * whitening.get(i, b));
    }
  }
  // Rounding must not make them lopsided: the decomposition looks.
  for (const one of [matrix, information]) {
    for (let a = 0; a < n; a++) for (let b = 0; b < a; b++) one.set(a, b, one.get(b, a));
  }
  return { matrix, gradient, weights, information };
}

function solve(matrix: Matrix, gradient: Float64Array, damping: number): number[] {
  const damped = matrix.clone();
  for (let i = 0; i < damped.rows; i++) damped.set(i, i, damped.get(i, i) * (1 + damping) + 1e-12);
  return new CholeskyDecomposition(damped).solve(Matrix.columnVector(Array.from(gradient))).to1DArray();
}

/** A direction in which a card says less than what was known before. */
interface WeakDirection {
  /** Information from the card over that of the prior; below 1 the prior decides. */
  readonly ratio: number;
  /** Parts of the direction, by number. */
  readonly parts: readonly { readonly index: number; readonly share: number }[];
}

/** Directions in which the prior decides, in its own units, weakest first: eigenvectors of LᵀIL. */
export function weakDirections(
  information: readonly (readonly number[])[],
  priorLower: readonly (readonly number[])[],
): WeakDirection[] {
  const lower = new Matrix(priorLower.map((row) => [...row]));
  const white = lower
    .transpose()
    .mmul(new Matrix(information.map((row) => [...row])))
    .mmul(lower);
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(white, { assumeSymmetric: true });
  return realEigenvalues
    .map((ratio, k) => ({
      ratio: Math.max(0, ratio),
      parts: eigenvectorMatrix
        .getColumn(k)
        .map((share, index) => ({ index, share }))
        .filter(({ share }) => Math.abs(share) > 0.3)
        .sort((a, b) => Math.abs(b.share) - Math.abs(a.share)),
    }))
    .filter(({ ratio }) => ratio < 1)
    .sort((a, b) => a.ratio - b.ratio);
}

/**
 * Standard deviation, as the root of a sum of squares, of numbers that hang on others by `asked` (one row per number that is not known, a column per
 * number asked for), once measurements with `slopes` (likewise, in units of their deviations) have narrowed the prior: `√tr(AᵀL(1 + LᵀSSᵀL)⁻¹LᵀA)`.
 */
export function spreadAfter(
  asked: readonly (readonly number[])[],
  slopes: readonly (readonly number[])[],
  priorLower: readonly (readonly number[])[],
): number {
  const lower = new Matrix(priorLower.map((row) => [...row])).transpose();
  const wanted = lower.mmul(new Matrix(asked.map((row) => [...row])));
  const told = Matrix.eye(priorLower.length);
  if (slopes.length > 0) {
    const white = lower.mmul(new Matrix(slopes.map((row) => [...row])));
    told.add(white.mmul(white.transpose()));
  }
  return Math.sqrt(wanted.transpose().mmul(inverse(told)).mmul(wanted).trace());
}

/**
 * Spot radius and threshold from the widths of lone lines at rising power: W² grows with ln P by 2w², and where it would be nothing lies the
 * threshold. The same holds for the diameters of pulse marks over ln E.
 *
 * Source: J. M. Liu, Opt. Lett. 7, 196 (1982) (value from memory); the line form is derived from the line dose the same way. It takes the edge of
 * the mark for the place where removal begins; under a dark film that shows later, which the whole fit allows for and this does not.
 * Test: test/reference/calibrate-fit.test.ts.
 * @param widthsMm 0 for a line that does not show; such are left out.
 * @throws RangeError for fewer than two lines that show, or widths that do not grow.
 */
export function liuFit(
  powers: readonly number[],
  widthsMm: readonly number[],
): { readonly radiusMm: number; readonly thresholdPower: number } {
  const points = powers
    .map((power, i) => [Math.log(power), widthsMm[i] ** 2] as const)
    .filter(([, squared]) => squared > 0);
  if (points.length < 2) throw new RangeError('at least two lines must show');
  const n = points.length;
  const meanX = points.reduce((sum, [x]) => sum + x, 0) / n;
  const meanY = points.reduce((sum, [, y]) => sum + y, 0) / n;
  const slope =
    points.reduce((sum, [x, y]) => sum + (x - meanX) * (y - meanY), 0) /
    points.reduce((sum, [x]) => sum + (x - meanX) ** 2, 0);
  if (!(slope > 0)) throw new RangeError('widths must grow with power');
  return { radiusMm: Math.sqrt(slope / 2), thresholdPower: Math.exp(meanX - meanY / slope) };
}
