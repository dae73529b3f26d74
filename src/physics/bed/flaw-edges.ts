import type { Point } from '../../base/geometry/point.ts';
import type { Slab } from '../../piece/schema.ts';
import { placeKnot } from '../wood/knots.ts';

/** A knot or an open drying check of a slab, and its edge seen from above, closed. */
export interface FlawEdge {
  readonly kind: 'knot' | 'check';
  readonly edge: readonly Point[];
}

const KNOT_POINTS = 28;
/** What is thinner would not be seen, mm. */
const THINNEST_MM = 1.6;

/** Where a face had better not be; filled checks are flush and painted over. */
export function flawEdges(slab: Slab): FlawEdge[] {
  const round = slab.knots.map((knot): FlawEdge => {
    const { xMm, yMm, radiusMm, stretch, cosine, sine } = placeKnot(knot, slab);
    const edge = Array.from({ length: KNOT_POINTS }, (_, i): Point => {
      const t = (2 * Math.PI * i) / KNOT_POINTS;
      const [u, v] = [stretch * radiusMm * Math.cos(t), radiusMm * Math.sin(t)];
      return [xMm + u * cosine - v * sine, yMm + u * sine + v * cosine];
    });
    return { kind: 'knot', edge };
  });
  const long = slab.checks
    .filter(({ filled }) => !filled)
    .map(({ xMm, yMm, lengthMm, widthMm, headingRad }): FlawEdge => {
      const [c, s] = [Math.cos(headingRad), Math.sin(headingRad)];
      const [a, b] = [lengthMm / 2, Math.max(widthMm, THINNEST_MM) / 2];
      const at = (u: number, v: number): Point => [xMm + u * c - v * s, yMm + u * s + v * c];
      return {
        kind: 'check',
        edge: [at(-a, 0), at(-0.5 * a, b), at(0.5 * a, b), at(a, 0), at(0.5 * a, -b), at(-0.5 * a, -b)],
      };
    });
  return [...round, ...long];
}
