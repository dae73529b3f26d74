import type { Body } from './body.ts';
import { groundHeight, stoniness } from './ground.ts';
import { noise, roughness } from './noise.ts';
import { clamp, mix, ramp } from './shapes.ts';

/** Where the path from the door to the landing stage runs, as its x at a distance z. */
const pathX = (z: number): number => mix(4.3, 4.5, ramp(24, 31, z)) + 0.3 * Math.sin(0.9 * z);

const land: Omit<Body, 'low' | 'high'> = {
  distance(x, y, z) {
    const above = y - groundHeight(x, z);
    if (above > 0.9) return 0.65 * (above - 0.55);
    const stone = stoniness(x, z);
    const lumps = stone > 0 ? 0.75 * stone * Math.abs(roughness(0.9 * x, 1.2 * y, 0.9 * z, 3)) : 0;
    const turf = 0.16 * roughness(0.55 * x, 0, 0.55 * z, 2);
    return 0.62 * (above - lumps - turf);
  },
  relief: (x, y, z) => 0.09 * roughness(2.3 * x, 3 * y, 2.3 * z, 5) * (0.7 + 0.6 * stoniness(x, z)),
  paint(surface, x, y, z, _nx, ny) {
    const stone = clamp(stoniness(x, z) + ramp(0.75, 0.55, ny), 0, 1);
    const near = Math.abs(x - pathX(z)) + 0.35 * roughness(1.5 * x, 0, 1.5 * z, 3);
    const path = ramp(0.85, 0.45, near) * ramp(33, 31, z) * ramp(22, 23, z);
    const blades = roughness(5 * x, 3 * y, 1.8 * z, 4);
    const patches = roughness(0.35 * x, 0, 0.35 * z, 3);
    const tufts = ramp(0.05, 0.5, noise(2.6 * x, 1, 1.7 * z));
    const turf = 0.13 + 0.2 * blades + 0.16 * patches - 0.06 * tufts;
    const rock = (0.17 + 0.2 * roughness(1.6 * x, 3 * y, 1.6 * z, 4)) * mix(0.25, 1, ramp(0.25, 0.75, y));
    surface.albedo = clamp(mix(mix(turf, rock, stone), 0.62 + 0.15 * blades, path), 0.02, 1);
    surface.gloss = 0.25 * ramp(0.5, 0.2, y);
    surface.sharpness = 20;
  },
};

/** The headland in front and the hill behind: stony bank, rough turf, trodden path. */
export const LAND: readonly Body[] = [
  { ...land, low: [-3, -0.3, 18], high: [24, 2.7, 44] },
  { ...land, low: [-4, -0.3, 44], high: [48, 6, 104] },
];

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

/** Height of the ground under a clump, near enough: bodies are made before the ground's table is. */
const clumpGround = (x: number, z: number): number => (x > 9 ? 1.35 + 0.06 * (x - 9) : z > 36 ? 0.9 : 1.15);

/** Each clump is a body of its own, so that a ray meets only those in its way. */
export const GORSE: readonly Body[] = CLUMPS.map(([cx, cz, radius]) => {
  const cy = clumpGround(cx, cz) + 0.3 * radius;
  const reach = 1.9 * radius;
  return {
    low: [cx - reach, cy - radius, cz - reach],
    high: [cx + reach, cy + 1.4 * radius, cz + reach],
    distance(x, y, z) {
      const round = Math.sqrt((0.78 * (x - cx)) ** 2 + (1.15 * (y - cy)) ** 2 + (0.78 * (z - cz)) ** 2) - 0.8 * radius;
      if (round > 0.55 * radius + 0.1) return 0.8 * (round - 0.45 * radius);
      return 0.5 * (round - 0.75 * radius * roughness(1.5 * x, 1.7 * y, 1.5 * z, 4) - 0.1 * noise(7 * x, 7 * y, 7 * z));
    },
    relief: (x, y, z) => 0.13 * roughness(6 * x, 6 * y, 6 * z, 3),
    paint(surface, x, y, z, _nx, ny) {
      const leaves = noise(11 * x, 11 * y, 11 * z) + 0.6 * noise(23 * x, 23 * y, 23 * z);
      const flowers = ramp(0.25, 0.7, leaves) * ramp(-0.1, 0.7, ny);
      surface.albedo = clamp(
        0.085 + 0.08 * leaves + 0.09 * roughness(3 * x, 3 * y, 3 * z, 2) + 0.2 * flowers,
        0.015,
        1,
      );
    },
  } satisfies Body;
});
