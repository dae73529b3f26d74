import type { Point, Polygon } from './point.ts';

/** Nearest place of an outline. */
export interface Nearest {
  /** Distance in mm; greater than zero inside, less outside. */
  readonly signedMm: number;
  /** Number of the nearest edge and the share of it, 0–1, at which the nearest place lies. */
  readonly edge: number;
  readonly share: number;
}

/** Whether a point lies inside an outline (even–odd rule, a ray to the right). On the edge itself either answer may come. */
export function isInside(polygon: Polygon, [x, y]: Point): boolean {
  let inside = false;
  let [ax, ay] = polygon[polygon.length - 1];
  for (const [bx, by] of polygon) {
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
    ax = bx;
    ay = by;
  }
  return inside;
}

/** Nearest place of an outline to a point, by looking at every edge. Exact. */
export function nearestOnOutline(polygon: Polygon, point: Point): Nearest {
  const [x, y] = point;
  let best = Number.POSITIVE_INFINITY;
  let edge = 0;
  let share = 0;
  let [ax, ay] = polygon[0];
  for (let i = 0; i < polygon.length; i++) {
    const [bx, by] = polygon[i + 1 < polygon.length ? i + 1 : 0];
    const ux = bx - ax;
    const uy = by - ay;
    const length = ux * ux + uy * uy;
    const along = length > 0 ? Math.min(1, Math.max(0, ((x - ax) * ux + (y - ay) * uy) / length)) : 0;
    const square = (ax + along * ux - x) ** 2 + (ay + along * uy - y) ** 2;
    if (square < best) {
      best = square;
      edge = i;
      share = along;
    }
    ax = bx;
    ay = by;
  }
  const distance = Math.sqrt(best);
  return { signedMm: isInside(polygon, point) ? distance : -distance, edge, share };
}

/** Distance of a point to an outline, mm: greater than zero inside, less outside. */
export const signedDistanceMm = (polygon: Polygon, point: Point): number => nearestOnOutline(polygon, point).signedMm;
