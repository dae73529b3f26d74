import { largestFilled } from '../../base/geometry/component.ts';
import { maskWhere } from '../../base/geometry/mask-where.ts';
import { otsuThreshold } from '../../base/geometry/otsu.ts';
import { distanceFromBackground } from './background.ts';
import type { LabPlanes } from './lab-planes.ts';
import { maskDepth } from './mask-depth.ts';

/** Colour distances are cut here, lest dark bark outweighs light wood. */
const TOP = 30;
/** The threshold must be at least this, and so many times the table's own spread, for a slab to stand out. */
const LEAST_THRESHOLD = 3;
const LEAST_RATIO = 2.5;
/** What is thinner than twice this is cut off, pixels. */
const OPENING_PX = 2;

/** What stands out from the table. */
export interface StandOut {
  /** 1 in the largest part, its holes filled; and how many pixels that is. */
  readonly mask: Uint8Array;
  readonly count: number;
  /** Colour distance of each pixel from the table, and where it was cut in two. */
  readonly distance: Float32Array;
  readonly threshold: number;
}

/**
 * Distances from the table, cut in two by Otsu's threshold, and the largest part above it; null if nothing stands out.
 * @param seen 1 where the table is believed to be. @param looked 0 where nothing counts.
 */
export function standOut(
  planes: LabPlanes,
  seen: Uint8Array,
  looked: Uint8Array,
  width: number,
  height: number,
): StandOut | null {
  if (!seen.some((value, i) => value && i % 7 === 0)) return null;
  const { distance, spread } = distanceFromBackground(planes, seen, width, height);
  for (let i = 0; i < distance.length; i++) if (!looked[i]) distance[i] = 0;
  const threshold = otsuThreshold(
    distance.filter((_, i) => looked[i] === 1),
    TOP,
  );
  if (threshold < Math.max(LEAST_THRESHOLD, LEAST_RATIO * spread)) return null;
  const above = maskWhere(distance.length, (i) => distance[i] > threshold);
  const part = largestFilled(opened(above, width, height), width, height);
  return part && { ...part, distance, threshold };
}

/** The mask without what is thinner than twice the opening; what stays keeps its edge. */
function opened(mask: Uint8Array, width: number, height: number): Uint8Array {
  const solid = largestFilled(mask, width, height)?.mask ?? mask;
  const depth = maskDepth(solid, width, height);
  const outer = maskWhere(depth.length, (i) => depth[i] <= OPENING_PX);
  const beside = maskDepth(outer, width, height);
  return maskWhere(solid.length, (i) => solid[i] === 1 && beside[i] <= OPENING_PX + 1);
}
