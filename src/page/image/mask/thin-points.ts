export type StrokePoint = [x: number, y: number];

/**
 * A stroke's points without those that lie within a tolerance of the line through the others. The first and the last stay.
 * Source: Ramer 1972, Douglas and Peucker 1973 (as in src/base/geometry/outline.ts, for open lines).
 * Test: test/unit/mask-dialog-thin.test.ts.
 * @param tolerance > 0, in the points' unit.
 */
export function thinPoints(points: readonly StrokePoint[], tolerance: number): StrokePoint[] {
  const last = points.length - 1;
  if (last < 1) return [...points];
  const keep = new Uint8Array(points.length);
  keep[0] = 1;
  keep[last] = 1;
  const spans: [number, number][] = [[0, last]];
  for (let span = spans.pop(); span; span = spans.pop()) {
    const [from, to] = span;
    let worst = tolerance;
    let at = -1;
    for (let i = from + 1; i < to; i++) {
      const distance = toLine(points[i], points[from], points[to]);
      if (distance > worst) {
        worst = distance;
        at = i;
      }
    }
    if (at >= 0) {
      keep[at] = 1;
      spans.push([from, at], [at, to]);
    }
  }
  return points.filter((_, i) => keep[i] === 1);
}

function toLine(p: StrokePoint, a: StrokePoint, b: StrokePoint): number {
  const [ux, uy] = [b[0] - a[0], b[1] - a[1]];
  const square = ux * ux + uy * uy;
  const along = square > 0 ? Math.min(1, Math.max(0, ((p[0] - a[0]) * ux + (p[1] - a[1]) * uy) / square)) : 0;
  return Math.hypot(a[0] + along * ux - p[0], a[1] + along * uy - p[1]);
}

/** What a piece keeps at most: the schema's limits, and points so few that the piece stays small. */
export const MOST_STROKES = 1000;

/** Points of one stroke. */
export const MOST_POINTS = 200;

/** What taking the background away may use: the rest is left to the brush. */
export const BACKGROUND_STROKES = 500;

export const BACKGROUND_POINTS = 12_000;

/** A line in parts of as many points as one stroke keeps, each beginning where the one before ended; one point is a part, too. */
export function splitPoints(points: readonly StrokePoint[]): StrokePoint[][] {
  const parts: StrokePoint[][] = [points.slice(0, MOST_POINTS)];
  for (let from = MOST_POINTS - 1; from < points.length - 1; from += MOST_POINTS - 1) {
    parts.push(points.slice(from, from + MOST_POINTS));
  }
  return parts;
}
