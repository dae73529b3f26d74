import type { Polygon } from '../../base/geometry/point.ts';
import { type BoundsMm, boundsMm } from '../../base/geometry/polygon.ts';

/** Table shown round the slab, share of its longer side. */
const ROUND = 0.08;

/** The part of the plane to show so that an outline can be moved outwards a little. */
export function viewRound(outline: Polygon): BoundsMm {
  const { left, top, right, bottom } = boundsMm(outline);
  const round = ROUND * Math.max(right - left, bottom - top);
  return { left: left - round, top: top - round, right: right + round, bottom: bottom + round };
}
