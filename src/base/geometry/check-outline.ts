import { findCrossing } from './crossing.ts';
import type { Polygon } from './point.ts';
import { areaMm2, boundsMm } from './polygon.ts';

/**
 * Refuses what cannot be a slab's outline.
 * @throws RangeError with a sentence for the maker: fewer than three points, a number that is not finite, no area, crossing itself.
 */
export function checkOutline(polygon: Polygon): void {
  if (polygon.length < 3) throw new RangeError(`an outline needs at least three points, got ${polygon.length}`);
  if (!polygon.every(([x, y]) => Number.isFinite(x) && Number.isFinite(y))) {
    throw new RangeError('every point of an outline needs two numbers');
  }
  const { left, top, right, bottom } = boundsMm(polygon);
  const place = (mm: number): string => mm.toFixed(1);
  const crossing = findCrossing(polygon);
  if (crossing) {
    const [x, y] = crossing.at;
    throw new RangeError(
      `the outline crosses itself at ${place(x)}, ${place(y)} mm: move the handles there apart, or undo the last change`,
    );
  }
  if (!(areaMm2(polygon) > 1e-9 * Math.max(right - left, bottom - top) ** 2)) {
    throw new RangeError('the outline encloses no area');
  }
}
