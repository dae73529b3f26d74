import type { Body } from './body.ts';
import { COTTAGE } from './cottage.ts';
import { noise, roughness } from './noise.ts';
import { clamp, mix, ramp } from './shapes.ts';

/** x of the waterline at a distance z: a small bay in front of the cottage, a point below it, a coast that falls back. */
function shoreline(z: number): number {
  const bay = 3.4 * ramp(30, 21, z);
  return -0.6 + bay + 5.2 * ramp(36, 62, z) + 0.7 * noise(0.23 * z, 0.5, 3.3);
}

/** Where the path from the door to the landing stage runs, as its x at a distance z. */
const pathX = (z: number): number => mix(4.1, 4.6, ramp(25, 31.5, z)) + 0.35 * Math.sin(0.9 * z);

function ground(x: number, z: number): number {
  const inland = x - shoreline(z);
  const bank = 1.5 * ramp(-0.5, 3, inland);
  const hill = 3.2 * ramp(44, 72, z) * ramp(2, 14, inland) + 0.9 * ramp(9, 20, inland);
  const flat = ramp(6.4, 4.4, Math.hypot((x - COTTAGE.x) * 0.8, z - COTTAGE.z));
  return mix(bank + hill - 0.35, COTTAGE.y - 0.03, flat * ramp(0, 2, inland));
}

/** How stony a place is, 0 turf … 1 bare stone: the bank along the water. */
const stony = (x: number, z: number): number => {
  const inland = x - shoreline(z);
  return ramp(2.9, 1.3, inland + 0.9 * noise(0.8 * x, 0.8 * z, 1));
};

/** The headland: stony bank, rough turf, trodden path. */
export const LAND: Body = {
  low: [-3, -0.4, 18],
  high: [60, 7, 130],
  distance(x, y, z) {
    const height = ground(x, z);
    const above = y - height;
    if (above > 1.2) return 0.6 * (above - 0.8);
    const stone = stony(x, z);
    const lumps = stone > 0 ? 0.75 * stone * Math.abs(roughness(0.9 * x, 1.2 * y, 0.9 * z, 4)) : 0;
    const turf = 0.16 * roughness(0.55 * x, 0, 0.55 * z, 3);
    return 0.6 * (above - lumps - turf);
  },
  relief: (x, y, z) => 0.05 * roughness(2.6 * x, 2.6 * y, 2.6 * z, 3) * (0.5 + stony(x, z)),
  paint(surface, x, y, z, _nx, ny) {
    const stone = clamp(stony(x, z) + ramp(0.75, 0.55, ny), 0, 1);
    const near = Math.abs(x - pathX(z)) + 0.35 * roughness(1.5 * x, 0, 1.5 * z, 3);
    const path = ramp(0.75, 0.4, near) * ramp(33, 31, z) * ramp(22, 23, z);
    const blades = roughness(4 * x, 2 * y, 1.6 * z, 3);
    const patches = roughness(0.35 * x, 0, 0.35 * z, 3);
    const turf = 0.15 + 0.1 * blades + 0.12 * patches;
    const rock = (0.2 + 0.2 * roughness(1.6 * x, 3 * y, 1.6 * z, 4)) * mix(0.3, 1, ramp(0.25, 0.75, y));
    surface.albedo = clamp(mix(mix(turf, rock, stone), 0.5 + 0.1 * blades, path), 0.02, 1);
    surface.gloss = 0.25 * ramp(0.5, 0.2, y);
    surface.sharpness = 20;
  },
};

/** Gorse and thorn: clumps as x, z, radius. */
const CLUMPS: readonly (readonly [number, number, number])[] = [
  [10.9, 32.2, 1.15],
  [12.1, 33.4, 1.5],
  [13.6, 32, 1.3],
  [9.9, 31.4, 0.7],
  [2.2, 37.6, 1],
  [1.0, 38.4, 0.7],
  [8.6, 28.2, 0.75],
  [9.8, 27.5, 1],
  [11.5, 28.4, 0.9],
  [6.9, 27.3, 0.5],
  [15.4, 35, 1.7],
  [2.9, 29.4, 0.45],
  [12.6, 25.2, 0.9],
  [14.2, 27.5, 1.2],
];

/** Each clump is a body of its own, so that a ray meets only those in its way. */
export const GORSE: readonly Body[] = CLUMPS.map(([cx, cz, radius]) => {
  const cy = ground(cx, cz) + 0.3 * radius;
  const reach = 1.5 * radius;
  return {
    low: [cx - reach, cy - radius, cz - reach],
    high: [cx + reach, cy + 1.2 * radius, cz + reach],
    distance(x, y, z) {
      const round = Math.sqrt((0.78 * (x - cx)) ** 2 + (1.15 * (y - cy)) ** 2 + (0.78 * (z - cz)) ** 2) - 0.8 * radius;
      if (round > 0.6) return 0.8 * (round - 0.4);
      return 0.5 * (round - 0.75 * radius * roughness(1.5 * x, 1.7 * y, 1.5 * z, 4) - 0.1 * noise(7 * x, 7 * y, 7 * z));
    },
    relief: (x, y, z) => 0.1 * roughness(5 * x, 5 * y, 5 * z, 2),
    paint(surface, x, y, z, _nx, ny) {
      surface.albedo =
        0.1 +
        0.09 * roughness(4 * x, 4 * y, 4 * z, 3) +
        0.1 * ramp(0.2, 0.6, noise(9 * x, 9 * y, 9 * z)) * ramp(0, 0.8, ny);
    },
  } satisfies Body;
});
