import { Matrix, SVD } from 'ml-matrix';
import type { Point } from './outline.ts';

/**
 * A projective map of the plane, eight numbers in nine places, row-major and scaled to unit length:
 * (x, y) → ((h0 x + h1 y + h2) / w, (h3 x + h4 y + h5) / w), w = h6 x + h7 y + h8, w > 0 where it was fitted.
 */
export type Homography = readonly number[];

/**
 * The projective map that takes each point of `from` to its fellow in `to`: exact for four, least squares of the algebraic
 * error for more. Both sets are first moved to their centroid and scaled to a root mean square distance of √2.
 *
 * Source: R. Hartley, A. Zisserman, "Multiple view geometry in computer vision", 2nd ed. 2004, algorithm 4.2 (normalised DLT).
 * Test: matrices of scikit-image (test/reference/homography.test.ts).
 * @throws RangeError if there are fewer than four pairs or a number is not finite, the points lie on a line, coincide or cross.
 */
export function fitHomography(from: readonly Point[], to: readonly Point[]): Homography {
  if (from.length !== to.length) throw new RangeError(`${from.length} points cannot be paired with ${to.length}`);
  if (from.length < 4) throw new RangeError(`perspective needs at least four points, got ${from.length}`);
  const source = normalise(from);
  const target = normalise(to);
  const rows: number[][] = [];
  from.forEach((_, i) => {
    const [x, y] = source.points[i];
    const [u, v] = target.points[i];
    rows.push([x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v]);
  });
  // With four pairs a row of zeros makes the system square, so that the decomposition returns the whole null space.
  if (rows.length < 9) rows.push(new Array(9).fill(0));
  const svd = new SVD(new Matrix(rows));
  const values = svd.diagonal;
  // The last value but one says whether a second map would fit as well.
  if (!(values[7] > DEGENERATE * values[0])) throw new RangeError(ON_A_LINE);
  const inner = svd.rightSingularVectors.getColumn(8);
  // A map that flattens the plane: three points on a line on one side only.
  if (!(Math.abs(determinant(inner)) > DEGENERATE)) throw new RangeError(ON_A_LINE);
  const whole = multiply(target.back, multiply(inner, source.there));
  const weights = from.map(([x, y]) => whole[6] * x + whole[7] * y + whole[8]);
  if (!weights.every((w) => w * weights[0] > 0)) {
    throw new RangeError('the points cross: go round the corners in order, and pair each with its own');
  }
  const length = Math.sign(weights[0]) * Math.hypot(...whole);
  return whole.map((value) => value / length);
}

const DEGENERATE = 1e-6;
const ON_A_LINE = 'three of the points lie on one line or two of them coincide: they do not give the perspective';

interface Normalised {
  readonly points: Point[];
  /** To the normalised points, and back. */
  readonly there: number[];
  readonly back: number[];
}

function normalise(points: readonly Point[]): Normalised {
  const n = points.length;
  const meanX = points.reduce((sum, [x]) => sum + x, 0) / n;
  const meanY = points.reduce((sum, [, y]) => sum + y, 0) / n;
  const spread = Math.sqrt(points.reduce((sum, [x, y]) => sum + (x - meanX) ** 2 + (y - meanY) ** 2, 0) / n);
  if (!Number.isFinite(spread)) throw new RangeError('every coordinate of a marked point must be a number');
  if (spread === 0) throw new RangeError(ON_A_LINE);
  const scale = Math.SQRT2 / spread;
  return {
    points: points.map(([x, y]) => [scale * (x - meanX), scale * (y - meanY)]),
    there: [scale, 0, -scale * meanX, 0, scale, -scale * meanY, 0, 0, 1],
    back: [1 / scale, 0, meanX, 0, 1 / scale, meanY, 0, 0, 1],
  };
}

const multiply = (a: readonly number[], b: readonly number[]): number[] =>
  Array.from({ length: 9 }, (_, i) => {
    const row = 3 * Math.floor(i / 3);
    const column = i % 3;
    return a[row] * b[column] + a[row + 1] * b[column + 3] + a[row + 2] * b[column + 6];
  });

const determinant = (h: Homography): number =>
  h[0] * (h[4] * h[8] - h[5] * h[7]) - h[1] * (h[3] * h[8] - h[5] * h[6]) + h[2] * (h[3] * h[7] - h[4] * h[6]);

/** Where a map takes a point; null on or beyond its horizon. */
export function applyHomography(map: Homography, [x, y]: Point): Point | null {
  const w = map[6] * x + map[7] * y + map[8];
  if (!(w > 0)) return null;
  return [(map[0] * x + map[1] * y + map[2]) / w, (map[3] * x + map[4] * y + map[5]) / w];
}

/**
 * The map back. Points on this side of the horizon stay on this side.
 * @throws RangeError if the map flattens the plane.
 */
export function invertHomography(map: Homography): Homography {
  const [a, b, c, d, e, f, g, h, i] = map;
  const det = determinant(map);
  // Of a map of unit length; photographs of thousands of pixels make it small, so only nothing at all is refused.
  if (!(Math.abs(det) > 0)) throw new RangeError('this map flattens the plane and cannot be turned back');
  const adjugate = [
    e * i - f * h,
    c * h - b * i,
    b * f - c * e,
    f * g - d * i,
    a * i - c * g,
    c * d - a * f,
    d * h - e * g,
    b * g - a * h,
    a * e - b * d,
  ];
  const length = Math.sign(det) * Math.hypot(...adjugate);
  return adjugate.map((value) => value / length);
}
