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

export type Vector3Like = readonly [number, number, number];

/** Unit vectors of the camera: to the right of the picture, up in it, and back from the target to the camera. */
export function orbitAxes(orbit: Pick<Orbit, 'azimuthRad' | 'polarRad'>): {
  right: Vector3Like;
  up: Vector3Like;
  back: Vector3Like;
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

export function orbitPosition(orbit: Orbit): [number, number, number] {
  const { back } = orbitAxes(orbit);
  return [
    orbit.targetX + back[0] * orbit.distanceMm,
    back[1] * orbit.distanceMm,
    orbit.targetZ + back[2] * orbit.distanceMm,
  ];
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
