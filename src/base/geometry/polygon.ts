import type { Point, Polygon } from './point.ts';

/** Measures of a closed polygon (Green's theorem); exact for straight edges. Test: test/unit/slab-outline.test.ts. */

/** Enclosed area, mm²: positive if the polygon runs clockwise as seen. */
export const signedAreaMm2 = (polygon: Polygon): number => sumOverEdges(polygon, (cross) => cross) / 2;

/** Enclosed area, mm². */
export const areaMm2 = (polygon: Polygon): number => Math.abs(signedAreaMm2(polygon));

/** Length of the line all round, mm. */
export const perimeterMm = (polygon: Polygon): number =>
  sumOverEdges(polygon, (_, a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]));

/** Centre of gravity of the enclosed area, mm. NaN if it has none. */
export function centroidMm(polygon: Polygon): Point {
  // From the first point on, so that a small slab far from the origin loses no digits.
  const [x0, y0] = polygon[0];
  const near = polygon.map(([x, y]): Point => [x - x0, y - y0]);
  const six = 6 * signedAreaMm2(near);
  return [
    x0 + sumOverEdges(near, (cross, a, b) => cross * (a[0] + b[0])) / six,
    y0 + sumOverEdges(near, (cross, a, b) => cross * (a[1] + b[1])) / six,
  ];
}

export interface BoundsMm {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** The box round a polygon, mm. */
export function boundsMm(polygon: Polygon): BoundsMm {
  let [left, top] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  let [right, bottom] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const [x, y] of polygon) {
    left = Math.min(left, x);
    right = Math.max(right, x);
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  return { left, top, right, bottom };
}

/** Centre of the box round a polygon: the slab's own origin. */
export function middleMm(polygon: Polygon): Point {
  const { left, top, right, bottom } = boundsMm(polygon);
  return [(left + right) / 2, (top + bottom) / 2];
}

/** The polygon moved by (dx, dy), mm. */
export const moved = (polygon: Polygon, dx: number, dy: number): Polygon =>
  polygon.map(([x, y]): Point => [x + dx, y + dy]);

/** The polygon running clockwise as seen. */
export const clockwise = (polygon: Polygon): Polygon => (signedAreaMm2(polygon) < 0 ? [...polygon].reverse() : polygon);

function sumOverEdges(polygon: Polygon, term: (cross: number, a: Point, b: Point) => number): number {
  let sum = 0;
  let a = polygon[polygon.length - 1];
  for (const b of polygon) {
    sum += term(a[0] * b[1] - a[1] * b[0], a, b);
    a = b;
  }
  return sum;
}
