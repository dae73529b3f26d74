import type { Body } from './body.ts';
import { bodyLight } from './body-light.ts';
import { march, met } from './march.ts';
import { RIGGING_BOUNDS, ropeCoverage } from './rigging.ts';
import { mix } from './shapes.ts';
import { backdrop, throughHaze } from './sky.ts';
import { waterSlope } from './water.ts';

const ROPE = 0.075;
const FAR = 160;

const slope = new Float64Array(2);

/** Two evenly distributed numbers that a sample brings along, for what it cannot resolve. */
export interface Luck {
  first: number;
  second: number;
}

/** What the last camera ray met, for anti-aliasing: bodies that differ call for more samples. */
export const seen: { body: Body | null; water: boolean } = {
  body: null,
  water: false,
};

/**
 * Light that comes back along a camera ray (direction of length 1).
 * @param spread half width of the ray's cone per unit of distance.
 */
export function lightAlong(oy: number, dx: number, dy: number, dz: number, spread: number, luck: Luck): number {
  const toWater = dy < -1e-5 ? -oy / dy : FAR * 100;
  march(0, oy, 0, dx, dy, dz, Math.min(toWater, FAR));
  seen.body = met.body;
  seen.water = !met.body && dy < -1e-5;
  const distance = met.body ? met.distance : seen.water ? toWater : FAR;
  let light: number;
  if (met.body) light = bodyLight(met.body, met.distance, 0, oy, 0, dx, dy, dz, false);
  else if (seen.water) light = waterLight(toWater, dx, dy, dz, spread, luck);
  else light = backdrop(dx, dy, dz);
  return throughRope(light, 0, oy, 0, dx, dy, dz, distance, spread);
}

function waterLight(t: number, dx: number, dy: number, dz: number, spread: number, luck: Luck): number {
  const x = dx * t;
  const z = dz * t;
  const radius = Math.sqrt(-2 * Math.log(luck.first + 1e-9));
  const angle = 2 * Math.PI * luck.second;
  // 1/1600 of the picture's width, stretched by the flat view.
  const resolved = (0.0005 * t) / Math.max(0.02, -dy);
  waterSlope(slope, x, z, resolved, radius * Math.cos(angle), radius * Math.sin(angle));
  const scale = 1 / Math.sqrt(1 + slope[0] * slope[0] + slope[1] * slope[1]);
  const nx = -slope[0] * scale;
  const ny = scale;
  const nz = -slope[1] * scale;
  const facing = Math.max(0.01, -(nx * dx + ny * dy + nz * dz));
  let rx = dx + 2 * facing * nx;
  let ry = Math.abs(dy + 2 * facing * ny) + 0.002;
  let rz = dz + 2 * facing * nz;
  const length = Math.sqrt(rx * rx + ry * ry + rz * rz);
  rx /= length;
  ry /= length;
  rz /= length;
  march(x, 0.001, z, rx, ry, rz, 90);
  const distance = met.body ? met.distance : 90;
  let light = met.body ? bodyLight(met.body, met.distance, x, 0.001, z, rx, ry, rz, true) : backdrop(rx, ry, rz);
  light = throughRope(light, x, 0.001, z, rx, ry, rz, distance, 4 * spread);
  // Reflectance after Schlick, a little flattened as film flattens it; below it the dark of deep water.
  const mirror = 0.06 + 0.9 * (1 - facing) ** 4.2;
  return throughHaze(mix(0.035, light, mirror), 0.8 * t);
}

function throughRope(
  light: number,
  ox: number,
  oy: number,
  oz: number,
  dx: number,
  dy: number,
  dz: number,
  until: number,
  spread: number,
): number {
  const { low, high } = RIGGING_BOUNDS;
  // The ray has to pass the slab of the rigging inside its box.
  if (until < low[2] - oz || dz < 0.1) return light;
  const t0 = Math.max(0, (low[2] - oz) / dz);
  const t1 = (high[2] - oz) / dz;
  if (t1 < 0) return light;
  const x0 = ox + dx * t0;
  const x1 = ox + dx * t1;
  const y0 = oy + dy * t0;
  const y1 = oy + dy * t1;
  if (Math.max(x0, x1) < low[0] || Math.min(x0, x1) > high[0]) return light;
  if (Math.max(y0, y1) < low[1] || Math.min(y0, y1) > high[1]) return light;
  const hidden = ropeCoverage(ox, oy, oz, dx, dy, dz, until, spread);
  return hidden > 0 ? mix(light, ROPE, hidden) : light;
}
