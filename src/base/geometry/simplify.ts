import type { Point, Polygon } from './point.ts';

/**
 * An outline with fewer points, none of the old ones further than the tolerance from the new line. Starts from the first point and the
 * one furthest from it and keeps, between two kept points, the furthest from their chord as long as it is off by more.
 *
 * Sources: U. Ramer, "An iterative procedure for the polygonal approximation of plane curves", Comput. Graph. Image Process. 1, 1972;
 * D. H. Douglas, T. K. Peucker, Cartographica 10, 1973. Test: test/unit/slab-outline.test.ts.
 * @param toleranceMm ≥ 0. A strongly jagged line may cross itself afterwards: check it.
 */
export function simplifyOutline(polygon: Polygon, toleranceMm: number): Polygon {
  const n = polygon.length;
  if (n <= 3) return polygon;
  let far = 0;
  for (let i = 1; i < n; i++) {
    if (distance(polygon[i], polygon[0]) > distance(polygon[far], polygon[0])) far = i;
  }
  const keep = new Uint8Array(n);
  keep[0] = 1;
  keep[far] = 1;
  const spans: [number, number][] = [
    [0, far],
    [far, n],
  ];
  for (let span = spans.pop(); span; span = spans.pop()) {
    const [from, to] = span;
    let worst = toleranceMm;
    let at = -1;
    for (let i = from + 1; i < to; i++) {
      const off = toChord(polygon[i], polygon[from], polygon[to % n]);
      if (off > worst) {
        worst = off;
        at = i;
      }
    }
    if (at < 0) continue;
    keep[at] = 1;
    spans.push([from, at], [at, to]);
  }
  const kept = polygon.filter((_, i) => keep[i]);
  return kept.length >= 3 ? kept : polygon;
}

const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

function toChord(p: Point, a: Point, b: Point): number {
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const length = ux * ux + uy * uy;
  const along = length > 0 ? Math.min(1, Math.max(0, ((p[0] - a[0]) * ux + (p[1] - a[1]) * uy) / length)) : 0;
  return Math.hypot(a[0] + along * ux - p[0], a[1] + along * uy - p[1]);
}
