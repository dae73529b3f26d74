/**
 * Smooth curve through points that never swings beyond them: piecewise cubic, rising where the points rise.
 * Points are put in order of their first value (of two at the same place the later one counts). Where they do not reach the
 * ends, the corners (0, 0) and (1, 1) are added, so no points make a straight line.
 * Source: F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17(2), 1980:
 * three-point slopes, held inside the circle of radius 3 (their region S2, section 4).
 * @param points pairs in → out, both 0–1.
 * @returns the curve as a function; outside 0–1 it continues level. NaN gives NaN.
 */
export function createMonotoneCurve(points: readonly (readonly [number, number])[]): (x: number) => number {
  const byPlace = new Map<number, number>([...points].sort((a, b) => a[0] - b[0]));
  if (!byPlace.has(0)) byPlace.set(0, 0);
  if (!byPlace.has(1)) byPlace.set(1, 1);
  const knots = [...byPlace].sort((a, b) => a[0] - b[0]);
  const xs = knots.map((knot) => knot[0]);
  const ys = knots.map((knot) => knot[1]);
  const slopes = knotSlopes(xs, ys);
  const last = xs.length - 1;

  return (x) => {
    if (x <= xs[0]) return ys[0];
    if (x >= xs[last]) return ys[last];
    let i = 0;
    while (i < last - 1 && x >= xs[i + 1]) i++;
    const h = xs[i + 1] - xs[i];
    const t = (x - xs[i]) / h;
    const u = 1 - t;
    return (
      ys[i] * u * u * (1 + 2 * t) +
      ys[i + 1] * t * t * (3 - 2 * t) +
      slopes[i] * h * t * u * u -
      slopes[i + 1] * h * t * t * u
    );
  };
}

function knotSlopes(xs: readonly number[], ys: readonly number[]): number[] {
  const count = xs.length;
  const secants = Array.from({ length: count - 1 }, (_, i) => (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i]));
  const slopes = xs.map((_, i) => {
    const before = secants[Math.max(0, i - 1)];
    const after = secants[Math.min(count - 2, i)];
    return before * after <= 0 ? 0 : (before + after) / 2;
  });
  for (let i = 0; i < count - 1; i++) {
    if (secants[i] === 0) continue;
    const alpha = slopes[i] / secants[i];
    const beta = slopes[i + 1] / secants[i];
    const length = Math.sqrt(alpha * alpha + beta * beta);
    if (length > 3) {
      slopes[i] = (3 * alpha * secants[i]) / length;
      slopes[i + 1] = (3 * beta * secants[i]) / length;
    }
  }
  return slopes;
}
