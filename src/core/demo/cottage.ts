import type { Body, Surface } from './body.ts';
import { noise, roughness } from './noise.ts';
import { box, mix, ramp } from './shapes.ts';

/** Where the cottage stands, and how it is turned: its left gable and its front both show. */
export const COTTAGE = { x: 5.5, y: 1.55, z: 34, turnRad: 0.42 } as const;
const COS = Math.cos(COTTAGE.turnRad);
const SIN = Math.sin(COTTAGE.turnRad);

const HALF_LENGTH = 4.1;
const HALF_DEPTH = 2.3;
const EAVES = 2.6;
const RIDGE = 4.75;
const SLOPE = Math.atan2(RIDGE - EAVES, HALF_DEPTH);
const SLOPE_COS = Math.cos(SLOPE);
const SLOPE_SIN = Math.sin(SLOPE);

const toLocalX = (x: number, z: number): number => COS * (x - COTTAGE.x) + SIN * (z - COTTAGE.z);
const toLocalZ = (x: number, z: number): number => -SIN * (x - COTTAGE.x) + COS * (z - COTTAGE.z);

/** Windows and door of the front: centre, half width, half height. */
const FRONT: readonly (readonly [number, number, number, number])[] = [
  [-2.75, 1.45, 0.42, 0.52],
  [-0.95, 1.02, 0.5, 1.02],
  [0.95, 1.45, 0.42, 0.52],
  [2.75, 1.45, 0.42, 0.52],
];
/** Windows of the left gable, along z. */
const GABLE: readonly (readonly [number, number, number, number])[] = [
  [0.1, 1.4, 0.4, 0.5],
  [0, 3.15, 0.26, 0.34],
];
const RECESS = 0.16;
/** From here on inwards a recess is glass or door, not wall. */
const BACK = RECESS - 0.04;

function walls(x: number, y: number, z: number): number {
  const gable = (Math.abs(z) - HALF_DEPTH) * SLOPE_SIN + (y - EAVES) * SLOPE_COS;
  let d = Math.max(box(x, y - 2, z, HALF_LENGTH, 3, HALF_DEPTH), gable);
  if (d > 0.05) return d;
  for (const [wx, wy, a, b] of FRONT) {
    d = Math.max(d, -box(x - wx, y - wy, z + HALF_DEPTH, a, b, RECESS));
  }
  for (const [wz, wy, a, b] of GABLE) {
    d = Math.max(d, -box(x + HALF_LENGTH, y - wy, z - wz, RECESS, b, a));
  }
  return d;
}

function roof(x: number, y: number, z: number): number {
  const side = Math.abs(z);
  const along = side * SLOPE_COS - (y - RIDGE) * SLOPE_SIN;
  const off = side * SLOPE_SIN + (y - RIDGE) * SLOPE_COS;
  const length = HALF_DEPTH / SLOPE_COS + 0.22;
  return box(x, off - 0.1, along - 0.5 * length, HALF_LENGTH + 0.14, 0.07, 0.5 * length);
}

function chimneys(x: number, y: number, z: number): number {
  const cx = Math.abs(x) - HALF_LENGTH + 0.55;
  const stack = box(cx, y - 4.6, z, 0.44, 1.15, 0.36);
  const cap = box(cx, y - 5.72, z, 0.52, 0.08, 0.44);
  const pot = Math.max(Math.sqrt((Math.abs(cx) - 0.2) ** 2 + z * z) - 0.12, Math.abs(y - 6) - 0.28);
  return Math.min(stack, cap, pot);
}

const BOUNDS = {
  low: [COTTAGE.x - 5.3, COTTAGE.y - 0.9, COTTAGE.z - 4.6] as const,
  high: [COTTAGE.x + 5.3, COTTAGE.y + 6.4, COTTAGE.z + 4.6] as const,
};

/** The keeper's cottage: whitewashed walls, slates, two chimneys, a dark door, small windows. */
export const COTTAGE_BODY: Body = {
  ...BOUNDS,
  distance(wx, wy, wz) {
    const x = toLocalX(wx, wz);
    const y = wy - COTTAGE.y;
    const z = toLocalZ(wx, wz);
    const far = box(x, y - 2.7, z, 4.6, 3.7, 2.9);
    if (far > 0.6) return far;
    const d = Math.min(walls(x, y, z), roof(x, y, z), chimneys(x, y, z));
    return d < 1 && y < 1.3 ? Math.min(d, sills(x, y, z)) : d;
  },
  relief(wx, wy, wz) {
    const x = toLocalX(wx, wz);
    const y = wy - COTTAGE.y;
    const z = toLocalZ(wx, wz);
    if (roof(x, y, z) < 0.02) {
      const along = Math.abs(z) * SLOPE_COS - (y - RIDGE) * SLOPE_SIN;
      const course = along / 0.24;
      return 0.022 * (course - Math.floor(course)) + 0.008 * noise(4 * x, 9 * along, 3);
    }
    // Rubble under many coats of whitewash.
    return 0.03 * roughness(2.4 * x, 3.6 * y, 2.4 * z, 4);
  },
  paint(surface, wx, wy, wz) {
    const x = toLocalX(wx, wz);
    const y = wy - COTTAGE.y;
    const z = toLocalZ(wx, wz);
    if (roof(x, y, z) < 0.02) return slates(surface, x, y, z);
    if (chimneys(x, y, z) < 0.02 && y > EAVES) {
      surface.albedo = y > 5.8 ? 0.32 : y > 5.6 ? 0.4 : 0.66 + 0.16 * roughness(3 * x, 5 * y, 3 * z, 3);
      return;
    }
    if (opening(surface, x, y, z)) return;
    const damp = ramp(0.9, 0, y + 0.5 * roughness(1.3 * x, 0.4 * y, 1.3 * z, 3));
    const streaks = ramp(0.1, 0.6, noise(3.1 * x, 0.25 * y, 3.1 * z)) * ramp(1.2, 2.6, y);
    surface.albedo = 0.86 + 0.07 * roughness(1.1 * x, 1.1 * y, 1.1 * z, 4) - 0.3 * damp - 0.09 * streaks;
  },
};

function sills(x: number, y: number, z: number): number {
  let d = Number.POSITIVE_INFINITY;
  for (const [wx, wy, a, b] of FRONT) {
    if (b < 1) d = Math.min(d, box(x - wx, y - wy + b + 0.05, z + HALF_DEPTH, a + 0.1, 0.05, 0.1));
  }
  return Math.min(d, box(x + 0.95, y + 0.12, z + HALF_DEPTH + 0.35, 0.75, 0.12, 0.4));
}

/** Glass with bars behind the wall's face, or the boarded door. */
function opening(surface: Surface, x: number, y: number, z: number): boolean {
  if (z > BACK - HALF_DEPTH && z < 0 && Math.abs(x) < HALF_LENGTH - 0.1) {
    for (const [wx, wy, a, b] of FRONT) {
      if (Math.abs(x - wx) < a - 0.015 && Math.abs(y - wy) < b - 0.015) {
        if (b > 1) door(surface, x - wx, y);
        else glass(surface, x - wx, y - wy, a, b);
        return true;
      }
    }
  }
  if (x > BACK - HALF_LENGTH && x < 0 && Math.abs(z) < HALF_DEPTH - 0.1) {
    for (const [wz, wy, a, b] of GABLE) {
      if (Math.abs(z - wz) < a - 0.015 && Math.abs(y - wy) < b - 0.015) {
        glass(surface, z - wz, y - wy, a, b);
        return true;
      }
    }
  }
  return false;
}

function door(surface: Surface, x: number, y: number): void {
  const board = x / 0.19;
  const gap = Math.abs(board - Math.floor(board) - 0.5) > 0.44 ? 0.5 : 1;
  surface.albedo = 0.075 * gap * (1 + 0.5 * noise(20 * x, 1.5 * y, 1));
}

function glass(surface: Surface, x: number, y: number, a: number, b: number): void {
  const bar = 0.035;
  const frame = a - Math.abs(x) < 0.07 || b - Math.abs(y) < 0.07 || Math.abs(x) < bar || Math.abs(y - 0.02) < bar;
  surface.albedo = frame ? 0.7 : mix(0.02, 0.09, ramp(-b, b, y - 0.4 * x));
  surface.gloss = frame ? 0 : 0.25;
  surface.sharpness = 60;
}

function slates(surface: Surface, x: number, y: number, z: number): void {
  const along = Math.abs(z) * SLOPE_COS - (y - RIDGE) * SLOPE_SIN;
  const course = Math.floor(along / 0.24);
  const across = x / 0.3 + 0.5 * (course & 1) + 0.15 * noise(course, 0.5, 2);
  const slate = Math.floor(across);
  const edge = Math.min(across - slate, slate + 1 - across) < 0.045 || along / 0.24 - course < 0.1 ? 0.55 : 1;
  const own = noise(slate * 1.7 + 0.3, course * 2.3 + 0.4, 5.2);
  const lichen = ramp(0.15, 0.5, roughness(1.4 * x, 1.4 * along, 9, 4));
  surface.albedo = (along < 0.14 ? 0.34 : (0.17 + 0.07 * own) * edge) + 0.1 * lichen;
  surface.gloss = 0.12;
  surface.sharpness = 12;
}
