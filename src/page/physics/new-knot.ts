import type { Knot, Slab } from '../../piece/schema.ts';
import { freePlace } from './free-place.ts';

const DIAMETER_MM = 24;
const LARGEST_SHARE = 0.25;

/** A knot that shows at once: left of the middle, beside those that are there, filled. */
export function newKnot(slab: Slab): Knot {
  const diameterMm = Math.max(1, Math.min(DIAMETER_MM, LARGEST_SHARE * Math.min(slab.widthMm, slab.heightMm)));
  return { ...freePlace(slab, 'left', slab.knots, 1.5 * diameterMm), diameterMm, tiltRad: 0.4, filled: true };
}
