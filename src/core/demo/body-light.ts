import type { Body, Surface } from './body.ts';
import { openness, sunlight } from './march.ts';
import { SUN, skyLight, throughHaze } from './sky.ts';

const SUN_STRENGTH = 0.92;
const SKY_STRENGTH = 0.4;

const surface: Surface = { albedo: 0, gloss: 0, sharpness: 1, through: 0 };

/** Light from a body that a ray meets at distance t. A glimpse, for reflections, does without relief and near shade. */
export function bodyLight(
  body: Body,
  t: number,
  ox: number,
  oy: number,
  oz: number,
  dx: number,
  dy: number,
  dz: number,
  glimpse: boolean,
): number {
  const x = ox + dx * t;
  const y = oy + dy * t;
  const z = oz + dz * t;
  // The normal is taken over a length that the picture resolves, whatever its size in pixels.
  const e = Math.max(0.002, 0.0005 * t);
  const { distance, relief } = body;
  let a = distance(x + e, y - e, z - e);
  let b = distance(x - e, y - e, z + e);
  let c = distance(x - e, y + e, z - e);
  let d = distance(x + e, y + e, z + e);
  if (relief && !glimpse) {
    a -= relief(x + e, y - e, z - e);
    b -= relief(x - e, y - e, z + e);
    c -= relief(x - e, y + e, z - e);
    d -= relief(x + e, y + e, z + e);
  }
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
  const open = glimpse ? 0.75 : openness(x, y, z, nx, ny, nz);
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
  return throughHaze(light, t);
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
