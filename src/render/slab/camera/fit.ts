import { FIELD_OF_VIEW_RAD, HOME_POLAR_RAD, type Orbit, orbitAxes, type Vector3Like } from './orbit.ts';

/** What covers the edges of the stage, in CSS pixels. */
export interface Padding {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export const NO_PADDING: Padding = { left: 0, right: 0, top: 0, bottom: 0 };

export interface Viewport extends Padding {
  readonly width: number;
  readonly height: number;
}

/** Size of the part of the viewport that nothing covers; at least a tenth of the viewport, so that a fit always exists. */
export function freeArea(viewport: Viewport): { width: number; height: number; centreX: number; centreY: number } {
  const width = Math.max(viewport.width * 0.1, viewport.width - viewport.left - viewport.right);
  const height = Math.max(viewport.height * 0.1, viewport.height - viewport.top - viewport.bottom);
  return { width, height, centreX: viewport.left + width / 2, centreY: viewport.top + height / 2 };
}

/** The two halves of what is free, side by side, as viewports of their own with a gap between them. */
export function halves(viewport: Viewport): [Viewport, Viewport] {
  const free = freeArea(viewport);
  const rest = free.width / 2 + GAP_PX / 2;
  const left = free.centreX - free.width / 2;
  const right = viewport.width - left - free.width;
  return [
    { ...viewport, left, right: right + rest },
    { ...viewport, left: left + rest, right },
  ];
}
const GAP_PX = 12;

/**
 * The nearest camera that sees all points inside the free area, looking along a given direction with the middle of the free area
 * as its principal point (the projection is shifted, as with a shift lens, so a covered edge does not skew the view).
 * A point at (x, y, z) along the camera's right, up and back axes from the target lands x·f/(d − z) pixels from the middle, with
 * f = H / (2 tan(fov/2)); so d ≥ |x|·f/(W/2) + z, and likewise for y. The target is shifted along the table to balance top and bottom.
 */
export function fitOrbit(
  points: readonly Vector3Like[],
  viewport: Viewport,
  margin: number,
  direction: Pick<Orbit, 'azimuthRad' | 'polarRad'> = { azimuthRad: 0, polarRad: HOME_POLAR_RAD },
): Orbit {
  const free = freeArea(viewport);
  const focal = viewport.height / (2 * Math.tan(FIELD_OF_VIEW_RAD / 2));
  const halfWidth = (free.width / 2) * (1 - margin);
  const halfHeight = (free.height / 2) * (1 - margin);
  const { right, up, back } = orbitAxes(direction);
  const along = (axis: Vector3Like, p: Vector3Like): number => axis[0] * p[0] + axis[1] * p[1] + axis[2] * p[2];
  // Shift of the target away from the camera along the table, by bisection on which of top and bottom needs more distance.
  const north: Vector3Like = [-Math.sin(direction.azimuthRad), 0, -Math.cos(direction.azimuthRad)];
  const span = Math.max(1, ...points.map((p) => Math.hypot(p[0], p[2])));
  let low = -span / 2;
  let high = span / 2;
  let shift = 0;
  let distanceMm = 1;
  for (let i = 0; i < 40; i++) {
    shift = (low + high) / 2;
    let sides = 1;
    let top = 1;
    let bottom = 1;
    for (const point of points) {
      const p: Vector3Like = [point[0] - north[0] * shift, point[1], point[2] - north[2] * shift];
      const y = along(up, p);
      const z = along(back, p);
      sides = Math.max(sides, (Math.abs(along(right, p)) * focal) / halfWidth + z);
      if (y > 0) top = Math.max(top, (y * focal) / halfHeight + z);
      else bottom = Math.max(bottom, (-y * focal) / halfHeight + z);
    }
    distanceMm = Math.max(sides, top, bottom);
    if (top > bottom) low = shift;
    else high = shift;
  }
  return { targetX: north[0] * shift, targetZ: north[2] * shift, distanceMm, ...direction };
}
