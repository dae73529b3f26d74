import { along, dot, lookAt, type Matrix, multiply, perspective, subtract, type Vector } from '../engine/matrix.ts';
import type { SightState } from './sight-bus.ts';

/** What covers the edges of the stage, in CSS pixels. */
export interface Padding {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export const NO_PADDING: Padding = { left: 0, right: 0, top: 0, bottom: 0 };

interface Viewport extends Padding {
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
function halves(viewport: Viewport): [Viewport, Viewport] {
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
  points: readonly Vector[],
  viewport: Viewport,
  margin: number,
  direction: Pick<Orbit, 'azimuthRad' | 'polarRad'> = { azimuthRad: 0, polarRad: HOME_POLAR_RAD },
): Orbit {
  const free = freeArea(viewport);
  const focal = focalPx(viewport.height);
  const halfWidth = (free.width / 2) * (1 - margin);
  const halfHeight = (free.height / 2) * (1 - margin);
  const { right, up, back } = orbitAxes(direction);
  // Shift of the target away from the camera along the table, by bisection on which of top and bottom needs more distance.
  const north: Vector = [-Math.sin(direction.azimuthRad), 0, -Math.cos(direction.azimuthRad)];
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
      const p: Vector = [point[0] - north[0] * shift, point[1], point[2] - north[2] * shift];
      const y = dot(up, p);
      const z = dot(back, p);
      sides = Math.max(sides, (Math.abs(dot(right, p)) * focal) / halfWidth + z);
      if (y > 0) top = Math.max(top, (y * focal) / halfHeight + z);
      else bottom = Math.max(bottom, (-y * focal) / halfHeight + z);
    }
    distanceMm = Math.max(sides, top, bottom);
    if (top > bottom) low = shift;
    else high = shift;
  }
  return { targetX: north[0] * shift, targetZ: north[2] * shift, distanceMm, ...direction };
}

const FIT_MARGIN = 0.06;

const NEAREST_MM = 6;

/** How fast the camera closes in on where it should be, per second: under the hand, and flying home. */
const HAND_RATE = 16;

const FLIGHT_RATE = 4.5;

const START: Orbit = { targetX: 0, targetZ: 0, distanceMm: 800, azimuthRad: 0, polarRad: 0.4 };

/** Where the camera stands and goes, gliding, and the view that shows the whole slab. */
export class CameraRig {
  size = { width: 1, height: 1 };
  /** Where the camera is now. */
  orbit: Orbit = START;
  /** Where it is going. */
  goal: Orbit = START;
  private home: Orbit = START;
  private atHome = true;
  private rate = HAND_RATE;
  private padding: Padding = NO_PADDING;
  private split = false;
  private hull: readonly [number, number, number][] = [];

  /** What has to fit into the stage: points of the slab. A camera that is at home stays there. */
  setHull(hull: readonly [number, number, number][]): void {
    this.hull = hull;
    this.refit();
  }

  setStage(size: { width: number; height: number }, padding: Padding): void {
    this.size = { width: Math.max(1, size.width), height: Math.max(1, size.height) };
    this.padding = padding;
    this.refit();
  }

  /** Whether the slab is seen twice, side by side, by cameras that are the same but for where their middle is. */
  setSplit(split: boolean): void {
    if (split === this.split) return;
    this.split = split;
    this.refit();
  }

  /** The part of the canvas that a side is shown in; both are the whole of it where nothing is split. */
  private pane(side: 0 | 1): Viewport {
    const whole = { ...this.size, ...this.padding };
    return this.split ? halves(whole)[side] : whole;
  }

  /** Canvas place, CSS pixels, where the right pane begins. */
  get seam(): number {
    return freeArea({ ...this.size, ...this.padding }).centreX;
  }

  private refit(): void {
    if (this.hull.length === 0) return;
    this.home = fitOrbit(this.hull, this.pane(0), FIT_MARGIN);
    if (!this.atHome) return;
    this.orbit = this.home;
    this.goal = this.home;
  }

  get limits(): OrbitLimits {
    return {
      nearestMm: NEAREST_MM,
      farthestMm: this.home.distanceMm * 1.8,
      reachX: 1.2 * Math.max(1, ...this.hull.map((point) => point[0])),
      reachZ: 1.2 * Math.max(1, ...this.hull.map((point) => point[2])),
    };
  }

  steer(orbit: Orbit, { glide = true, flight = false }: { glide?: boolean; flight?: boolean } = {}): void {
    this.goal = limitOrbit(orbit, this.limits);
    if (!glide) this.orbit = this.goal;
    this.rate = flight ? FLIGHT_RATE : HAND_RATE;
    this.atHome = false;
  }

  goHome(glide: boolean): void {
    const turns = Math.round((this.orbit.azimuthRad - this.home.azimuthRad) / (2 * Math.PI)) * 2 * Math.PI;
    this.orbit = { ...this.orbit, azimuthRad: this.orbit.azimuthRad - turns };
    this.steer(this.home, { glide, flight: true });
    this.atHome = true;
  }

  /** Flies to a place of the face, mm, of a size that is to fill a good part of the stage. */
  lookAt(x: number, z: number, sizeMm: number, glide: boolean): void {
    this.steer(orbitOver(x, z, sizeMm, this.pane(0), this.goal.azimuthRad), { glide, flight: true });
  }

  /** Moves on by some time; false if the camera has arrived already. */
  advance(seconds: number): boolean {
    if (sameOrbit(this.orbit, this.goal)) return false;
    this.orbit = approachOrbit(this.orbit, this.goal, seconds, this.rate);
    if (sameOrbit(this.orbit, this.goal)) this.orbit = this.goal;
    return true;
  }

  /** From the slab's own places to the picture. It is shifted so that the middle of the free area is the picture's. */
  sightOf(side: 0 | 1): Matrix {
    const { size, orbit } = this;
    const { width, height } = size;
    const { centreX, centreY } = freeArea(this.pane(side));
    const near = orbit.distanceMm * 0.04;
    const far = orbit.distanceMm * 2 + 8 * this.home.distanceMm;
    const tile = { x: 0.5 - centreX / width, y: centreY / height - 0.5, width: 1, height: 1 };
    const { up } = orbitAxes(orbit);
    const eye = lookAt(this.eye, [orbit.targetX, 0, orbit.targetZ], up);
    return multiply(perspective(FIELD_OF_VIEW_RAD, width / height, near, far, tile), eye);
  }

  get eye(): Vector {
    return orbitPosition(this.orbit);
  }

  /** The point of the slab's face under a point of the canvas, or null above the horizon. */
  pick(xPx: number, yPx: number): { x: number; z: number } | null {
    const { eye, orbit, size } = this;
    const { right, up, back } = orbitAxes(orbit);
    const { centreX, centreY } = freeArea(this.pane(this.split && xPx > this.seam ? 1 : 0));
    const focal = focalPx(size.height);
    const ray = subtract(along(along([0, 0, 0], right, (xPx - centreX) / focal), up, (centreY - yPx) / focal), back);
    if (ray[1] >= -1e-6) return null;
    const [x, , z] = along(eye, ray, -eye[1] / ray[1]);
    return { x, z };
  }

  /** What the handles over the canvas have to know. */
  sight(): SightState {
    const free = freeArea({ ...this.size, ...this.padding });
    const stage = {
      left: free.centreX - free.width / 2,
      right: free.centreX + free.width / 2,
      top: free.centreY - free.height / 2,
      bottom: free.centreY + free.height / 2,
    };
    const { eye, orbit } = this;
    const { right, up, back } = orbitAxes(orbit);
    const { centreX, centreY } = freeArea(this.pane(0));
    const focal = focalPx(this.size.height);
    const seen = (point: Vector) => {
      const way = subtract(point, eye);
      const scale = focal / -dot(back, way);
      return scale > 0 ? { x: centreX + dot(right, way) * scale, y: centreY - dot(up, way) * scale } : null;
    };
    const ends = this.hull.flatMap((corner) => seen(corner)?.x ?? []);
    const west = Math.min(stage.right - 1, Math.max(stage.left, Math.min(...ends)));
    const east = Math.max(west + 1, Math.min(stage.right, Math.max(...ends)));
    return {
      toCanvas: (xMm, yMm) => seen([xMm, 0, yMm]),
      toFace: (x, y) => {
        const hit = this.pick(x, y);
        return hit && [hit.x, hit.z];
      },
      sight: { azimuthRad: orbit.azimuthRad, polarRad: orbit.polarRad },
      stage,
      slab: { west, east },
    };
  }
}

/** Distance of the picture from the eye in pixels of its own. */
const focalPx = (heightPx: number): number => heightPx / (2 * Math.tan(FIELD_OF_VIEW_RAD / 2));

/** Share of the free part of the stage that a place fills. */
const FILLS = 0.4;

/** The camera over a place (x, z) of the face, so near that `sizeMm` fill four tenths of the free part of the stage; it keeps its side of the table. */
export function orbitOver(x: number, z: number, sizeMm: number, viewport: Viewport, azimuthRad: number): Orbit {
  const free = freeArea(viewport);
  const focal = focalPx(viewport.height);
  const distanceMm = (sizeMm * focal) / (FILLS * Math.min(free.width, free.height));
  return { targetX: x, targetZ: z, distanceMm, azimuthRad, polarRad: HOME_POLAR_RAD };
}

/**
 * The camera's state and everything that moves it, as plain functions. Coordinates of the scene in mm: x east (picture's right),
 * y up with the slab's face at 0, z south (picture's bottom).
 */
export interface Orbit {
  /** Point of the slab's face that is looked at. */
  readonly targetX: number;
  readonly targetZ: number;
  readonly distanceMm: number;
  /** Where the camera stands: 0 = south of the slab, growing towards east. */
  readonly azimuthRad: number;
  /** Tilt away from straight above. */
  readonly polarRad: number;
}

export interface OrbitLimits {
  readonly nearestMm: number;
  readonly farthestMm: number;
  /** How far the target may leave the slab's centre. */
  readonly reachX: number;
  readonly reachZ: number;
}

const DEG = Math.PI / 180;

/** Never so low that the camera would sink into the table. */
export const POLAR_MAX_RAD = 82 * DEG;

export const HOME_POLAR_RAD = 25 * DEG;

export const FIELD_OF_VIEW_RAD = 26 * DEG;

const within = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

export function limitOrbit(orbit: Orbit, limits: OrbitLimits): Orbit {
  return {
    targetX: within(orbit.targetX, -limits.reachX, limits.reachX),
    targetZ: within(orbit.targetZ, -limits.reachZ, limits.reachZ),
    distanceMm: within(orbit.distanceMm, limits.nearestMm, limits.farthestMm),
    azimuthRad: orbit.azimuthRad,
    polarRad: within(orbit.polarRad, 0.001, POLAR_MAX_RAD),
  };
}

/** Unit vectors of the camera: to the right of the picture, up in it, and back from the target to the camera. */
function orbitAxes(orbit: Pick<Orbit, 'azimuthRad' | 'polarRad'>): {
  right: Vector;
  up: Vector;
  back: Vector;
} {
  const sinA = Math.sin(orbit.azimuthRad);
  const cosA = Math.cos(orbit.azimuthRad);
  const sinP = Math.sin(orbit.polarRad);
  const cosP = Math.cos(orbit.polarRad);
  return {
    right: [cosA, 0, -sinA],
    up: [-sinA * cosP, sinP, -cosA * cosP],
    back: [sinA * sinP, cosP, cosA * sinP],
  };
}

export function orbitPosition(orbit: Orbit): Vector {
  const { back } = orbitAxes(orbit);
  return along([orbit.targetX, 0, orbit.targetZ], back, orbit.distanceMm);
}

export const turnOrbit = (orbit: Orbit, azimuthRad: number, polarRad: number): Orbit => ({
  ...orbit,
  azimuthRad: orbit.azimuthRad + azimuthRad,
  polarRad: orbit.polarRad + polarRad,
});

/** Changes the distance by a factor so that the point (x, z) of the face stays under the pointer. */
export function zoomOrbit(orbit: Orbit, factor: number, x: number, z: number, limits: OrbitLimits): Orbit {
  const distanceMm = within(orbit.distanceMm * factor, limits.nearestMm, limits.farthestMm);
  const kept = distanceMm / orbit.distanceMm;
  return {
    ...orbit,
    distanceMm,
    targetX: x + (orbit.targetX - x) * kept,
    targetZ: z + (orbit.targetZ - z) * kept,
  };
}

/** Moves the slab by so many CSS pixels of the screen; `pixelMm` is the size of a pixel at the target. */
export function panOrbit(orbit: Orbit, dxPx: number, dyPx: number, pixelMm: number): Orbit {
  const sinA = Math.sin(orbit.azimuthRad);
  const cosA = Math.cos(orbit.azimuthRad);
  const across = -dxPx * pixelMm;
  const away = (dyPx * pixelMm) / Math.max(0.25, Math.cos(orbit.polarRad));
  return {
    ...orbit,
    targetX: orbit.targetX + across * cosA - away * sinA,
    targetZ: orbit.targetZ - across * sinA - away * cosA,
  };
}

/** mm per CSS pixel at the target. */
export const pixelSizeMm = (orbit: Orbit, heightPx: number): number =>
  (2 * orbit.distanceMm * Math.tan(FIELD_OF_VIEW_RAD / 2)) / Math.max(1, heightPx);

/** The state on the way from one to another after `seconds`, closing in exponentially; distances close in by ratio. */
export function approachOrbit(from: Orbit, to: Orbit, seconds: number, ratePerS: number): Orbit {
  const share = 1 - Math.exp(-Math.max(0, seconds) * ratePerS);
  const blend = (a: number, b: number): number => a + (b - a) * share;
  const distanceMm = from.distanceMm * (to.distanceMm / from.distanceMm) ** share;
  // The target moves in step with the distance, so that a zoom to the pointer keeps its point still on the way.
  const span = to.distanceMm - from.distanceMm;
  const step = Math.abs(span) > 1e-6 * to.distanceMm ? (distanceMm - from.distanceMm) / span : share;
  return {
    targetX: from.targetX + (to.targetX - from.targetX) * step,
    targetZ: from.targetZ + (to.targetZ - from.targetZ) * step,
    distanceMm,
    azimuthRad: blend(from.azimuthRad, to.azimuthRad),
    polarRad: blend(from.polarRad, to.polarRad),
  };
}

/** Whether two states look the same on the screen. */
export function sameOrbit(a: Orbit, b: Orbit): boolean {
  const scale = b.distanceMm * 3e-4;
  return (
    Math.abs(a.targetX - b.targetX) < scale &&
    Math.abs(a.targetZ - b.targetZ) < scale &&
    Math.abs(a.distanceMm - b.distanceMm) < scale &&
    Math.abs(a.azimuthRad - b.azimuthRad) < 4e-4 &&
    Math.abs(a.polarRad - b.polarRad) < 4e-4
  );
}
