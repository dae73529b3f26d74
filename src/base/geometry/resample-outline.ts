import type { Point, Polygon } from './point.ts';
import { perimeterMm } from './polygon.ts';

/**
 * An outline as points at even distances along it, starting at its first point.
 * @param stepMm wished distance; the one taken divides the perimeter, into at least eight steps.
 */
export function resampleOutline(polygon: Polygon, stepMm: number): Polygon {
  const perimeter = perimeterMm(polygon);
  const count = Math.max(8, Math.round(perimeter / stepMm));
  const points: Point[] = [];
  let walked = 0;
  let edge = 0;
  let [a, b] = [polygon[0], polygon[1 % polygon.length]];
  let length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  for (let i = 0; i < count; i++) {
    const wanted = (i / count) * perimeter;
    while (walked + length < wanted && edge < polygon.length - 1) {
      walked += length;
      edge++;
      a = b;
      b = polygon[(edge + 1) % polygon.length];
      length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    }
    const share = length > 0 ? Math.min(1, (wanted - walked) / length) : 0;
    points.push([a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]);
  }
  return points;
}
