import { freeArea, type Viewport } from './fit.ts';
import { FIELD_OF_VIEW_RAD, HOME_POLAR_RAD, type Orbit } from './orbit.ts';

/** Share of the free part of the stage that a place fills. */
const FILLS = 0.4;

/** The camera over a place (x, z) of the face, so near that `sizeMm` fill four tenths of the free part of the stage; it keeps its side of the table. */
export function orbitOver(x: number, z: number, sizeMm: number, viewport: Viewport, azimuthRad: number): Orbit {
  const free = freeArea(viewport);
  const focal = viewport.height / (2 * Math.tan(FIELD_OF_VIEW_RAD / 2));
  const distanceMm = (sizeMm * focal) / (FILLS * Math.min(free.width, free.height));
  return { targetX: x, targetZ: z, distanceMm, azimuthRad, polarRad: HOME_POLAR_RAD };
}
