import type { Body } from './body.ts';
import { SCENE } from './scene.ts';

const COUNT = SCENE.length;
const BOUNDS = Float64Array.from(SCENE.flatMap(({ low, high }) => [...low, ...high]));

/** Where the ray enters and leaves the box last asked about. In an array, as numbers in it need no memory of their own. */
const span = new Float64Array(2);

/** Does the ray meet the box of body i between `from` and `to`? Sets `span`. */
function meetsBox(
  i: number,
  ox: number,
  oy: number,
  oz: number,
  ix: number,
  iy: number,
  iz: number,
  from: number,
  to: number,
): boolean {
  const at = 6 * i;
  const ax = (BOUNDS[at] - ox) * ix;
  const bx = (BOUNDS[at + 3] - ox) * ix;
  const ay = (BOUNDS[at + 1] - oy) * iy;
  const by = (BOUNDS[at + 4] - oy) * iy;
  const az = (BOUNDS[at + 2] - oz) * iz;
  const bz = (BOUNDS[at + 5] - oz) * iz;
  const enter = Math.max(from, Math.min(ax, bx), Math.min(ay, by), Math.min(az, bz));
  const leave = Math.min(to, Math.max(ax, bx), Math.max(ay, by), Math.max(az, bz));
  span[0] = enter;
  span[1] = leave;
  return enter < leave;
}

const inverse = (d: number): number => 1 / (Math.abs(d) < 1e-9 ? 1e-9 : d);

/** What a ray met: body and distance. One object, used again: read it before the next ray. */
export const met: { body: Body | null; distance: number } = {
  body: null,
  distance: 0,
};

/** First body along a ray whose direction has length 1, up to `to`. The result is in `met`. */
export function march(ox: number, oy: number, oz: number, dx: number, dy: number, dz: number, to: number): void {
  const ix = inverse(dx);
  const iy = inverse(dy);
  const iz = inverse(dz);
  met.body = null;
  met.distance = to;
  for (let i = 0; i < COUNT; i++) {
    if (!meetsBox(i, ox, oy, oz, ix, iy, iz, 0, met.distance)) continue;
    const { distance } = SCENE[i];
    let t = span[0] + 1e-4;
    const end = span[1];
    for (let step = 0; step < 160 && t < end; step++) {
      const d = distance(ox + dx * t, oy + dy * t, oz + dz * t);
      if (d < 0.0004 * t) {
        met.body = SCENE[i];
        met.distance = t;
        break;
      }
      t += d;
    }
  }
}

/** How much of the sun's disc is seen from a point, 0–1, in the direction (dx, dy, dz): half-shadows grow with distance. */
export function sunlight(ox: number, oy: number, oz: number, dx: number, dy: number, dz: number): number {
  const ix = inverse(dx);
  const iy = inverse(dy);
  const iz = inverse(dz);
  let light = 1;
  for (let i = 0; i < COUNT; i++) {
    if (!meetsBox(i, ox, oy, oz, ix, iy, iz, 0.02, 30)) continue;
    const { distance } = SCENE[i];
    let t = span[0];
    const end = span[1];
    for (let step = 0; step < 48 && t < end; step++) {
      const d = distance(ox + dx * t, oy + dy * t, oz + dz * t);
      if (d < 0.001) return 0;
      light = Math.min(light, (18 * d) / t);
      t += Math.max(d, 0.015);
    }
    if (light < 0.02) return 0;
  }
  return light * light * (3 - 2 * light);
}

const REACHES = [0.08, 0.25, 0.6, 1.3];

/** How open the sky is above a point, 0–1, by asking how near other things are along the normal. */
export function openness(x: number, y: number, z: number, nx: number, ny: number, nz: number): number {
  let closed = 0;
  let weight = 1;
  for (const reach of REACHES) {
    const px = x + nx * reach;
    const py = y + ny * reach;
    const pz = z + nz * reach;
    let nearest = Math.min(reach, Math.max(0, py) + 0.3 * reach);
    for (let i = 0; i < COUNT; i++) {
      const at = 6 * i;
      if (
        px < BOUNDS[at] - reach ||
        px > BOUNDS[at + 3] + reach ||
        py < BOUNDS[at + 1] - reach ||
        py > BOUNDS[at + 4] + reach
      )
        continue;
      if (pz < BOUNDS[at + 2] - reach || pz > BOUNDS[at + 5] + reach) continue;
      nearest = Math.min(nearest, SCENE[i].distance(px, py, pz));
    }
    closed += (weight * (reach - Math.max(0, nearest))) / reach;
    weight *= 0.75;
  }
  return Math.max(0, 1 - 0.42 * closed);
}
