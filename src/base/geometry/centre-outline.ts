import { checkOutline } from './check-outline.ts';
import type { Point, Polygon } from './point.ts';
import { clockwise, middleMm, moved } from './polygon.ts';

/**
 * An outline about the slab's own origin, the middle of the box round it, running clockwise as seen.
 * @returns the outline and where its origin lay before, mm.
 * @throws RangeError as `checkOutline` does.
 */
export function centreOutline(polygon: Polygon): { readonly outline: Polygon; readonly middle: Point } {
  checkOutline(polygon);
  const middle = middleMm(polygon);
  return { outline: clockwise(moved(polygon, -middle[0], -middle[1])), middle };
}
