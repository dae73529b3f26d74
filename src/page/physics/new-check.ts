import type { Check, Slab } from '../../piece/schema.ts';
import { freePlace } from './free-place.ts';

const LENGTH_MM = 40;
const LARGEST_SHARE = 0.25;

/** A crack as they come: from the pith outwards in a slice, along the grain in a plank; right of the middle, open. */
export function newCheck(slab: Slab): Check {
  const lengthMm = Math.max(1, Math.min(LENGTH_MM, LARGEST_SHARE * Math.min(slab.widthMm, slab.heightMm)));
  const place = freePlace(slab, 'right', slab.checks, lengthMm / 2);
  const outwards = Math.atan2(place.yMm - slab.pithYMm, place.xMm - slab.pithXMm);
  // A crack has no front: half a turn tells all headings.
  const headingRad = slab.cut === 'plank' ? 0 : (outwards + Math.PI) % Math.PI;
  return { ...place, lengthMm, headingRad, widthMm: 0.8, depthMm: 3, filled: false };
}
