import type { Body, Surface } from './body.ts';
import { march, met, openness, sunlight } from './march.ts';
import { RIGGING_BOUNDS, ropeCoverage } from './rigging.ts';
import { mix } from './shapes.ts';
import { backdrop, HAZE, SUN, skyLight } from './sky.ts';
import { waterSlope } from './water.ts';

const SUN_STRENGTH = 0.92;
const SKY_STRENGTH = 0.4;
const ROPE = 0.075;
const HORIZON_FOG_PER_M = 1 / 520;
const FAR = 160;

const surface: Surface = { albedo: 0, gloss: 0, sharpness: 1, through: 0 };
const slope = new Float64Array(2);

/** Two evenly distributed numbers that a sample brings along, for what it cannot resolve. */
export interface Luck {
  first: number;
  second: number;
}

/** What the last camera ray met, for anti-aliasing: bodies that differ call for more samples. */
export const seen: { body: Body | null; water: boolean } = { body: null, water: false };

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
  if (met.body) light = bodyLight(met.body, met.distance, 0, oy, 0, dx, dy, dz);
  else if (seen.water) light = waterLight(toWater, oy, dx, dy, dz, spread, luck);
  else light = backdrop(dx, dy, dz);
  return throughRope(light, 0, oy, 0, dx, dy, dz, distance, spread);
}

function bodyLight(
  body: Body,
  t: number,
  ox: number,
  oy: number,
  oz: number,
  dx: number,
  dy: number,
  dz: number,
): number {
  const x = ox + dx * t;
  const y = oy + dy * t;
  const z = oz + dz * t;
  // The normal is taken over a length that the picture resolves, whatever its size in pixels.
  const e = Math.max(0.002, 0.0005 * t);
  const height = (px: number, py: number, pz: number): number =>
    body.distance(px, py, pz) - (body.relief ? body.relief(px, py, pz) : 0);
  const a = height(x + e, y - e, z - e);
  const b = height(x - e, y - e, z + e);
  const c = height(x - e, y + e, z - e);
  const d = height(x + e, y + e, z + e);
  let nx = a - b - c + d;
  let ny = c + d - a - b;
  let nz = b + d - a - c;
  const length = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
  nx /= length;
  ny /= length;
  nz /= length;

  surface.albedo = 0.5;
  surface.gloss = 0;
  surface.sharpness = 10;
  surface.through = 0;
  body.paint(surface, x, y, z, nx, ny, nz);

  const lift = 0.004 + 0.001 * t;
  const facing = nx * SUN[0] + ny * SUN[1] + nz * SUN[2];
  const open = openness(x, y, z, nx, ny, nz);
  let sun = 0;
  if (facing > 0 || surface.through > 0) {
    const side = facing > 0 ? 1 : -1;
    sun = sunlight(x + side * nx * lift, y + side * ny * lift, z + side * nz * lift, SUN[0], SUN[1], SUN[2]);
  }
  const direct = facing > 0 ? facing : -facing * surface.through;
  // Sky from above, its bright edge ahead and behind, and some light thrown up by the water.
  const around = (0.62 + 0.38 * ny + 0.1 * Math.abs(nz)) * open;
  const bounce = Math.max(0, 0.3 - 0.5 * ny) * 0.16 * open;
  let light = surface.albedo * (SUN_STRENGTH * sun * direct + SKY_STRENGTH * around + bounce);
  if (surface.gloss > 0) light += shine(nx, ny, nz, dx, dy, dz, sun, open);
  const fog = 1 - Math.exp(-t * HORIZON_FOG_PER_M);
  return mix(light, HAZE, fog);
}

/** Highlight of the sun and the sky's sheen on something wet or polished. */
function shine(
  nx: number,
  ny: number,
  nz: number,
  dx: number,
  dy: number,
  dz: number,
  sun: number,
  open: number,
): number {
  let hx = SUN[0] - dx;
  let hy = SUN[1] - dy;
  let hz = SUN[2] - dz;
  const length = Math.sqrt(hx * hx + hy * hy + hz * hz) || 1;
  hx /= length;
  hy /= length;
  hz /= length;
  const spot = Math.max(0, nx * hx + ny * hy + nz * hz) ** surface.sharpness * sun;
  const across = -(nx * dx + ny * dy + nz * dz);
  const grazing = (1 - Math.min(1, Math.max(0, across))) ** 4;
  const ry = dy + 2 * across * ny;
  const sheen = skyLight(dx + 2 * across * nx, Math.max(0, ry), dz + 2 * across * nz) * (ry > 0 ? 1 : 0.2);
  return surface.gloss * (0.35 * spot + sheen * open * (0.03 + 0.55 * grazing));
}

function waterLight(t: number, oy: number, dx: number, dy: number, dz: number, spread: number, luck: Luck): number {
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
  let light = met.body ? bodyLight(met.body, met.distance, x, 0.001, z, rx, ry, rz) : backdrop(rx, ry, rz);
  light = throughRope(light, x, 0.001, z, rx, ry, rz, distance, 4 * spread);
  // Reflectance after Schlick, a little flattened as film flattens it; below it the dark of deep water.
  const mirror = 0.06 + 0.9 * (1 - facing) ** 4.2;
  return mix(mix(0.035, light, mirror), HAZE, 1 - Math.exp(-t * 0.8 * HORIZON_FOG_PER_M));
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
