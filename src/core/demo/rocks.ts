import { createGenerator } from '../random/generator.ts';
import type { Body } from './body.ts';
import { noise, roughness } from './noise.ts';
import { mix, ramp } from './shapes.ts';

/** Foreground rocks as x, z, half width, height above the water. */
const ROCKS: readonly (readonly [number, number, number, number])[] = [
  [-3.0, 13.2, 1.5, 0.85],
  [-1.5, 12.4, 1.25, 0.62],
  [-4.7, 14.8, 1.5, 1.15],
  [-0.1, 11.9, 0.9, 0.34],
  [1.5, 12.3, 1.2, 0.5],
  [2.9, 13.1, 1.35, 0.9],
  [4.4, 14.2, 1.6, 1.25],
  [6.3, 16.2, 1.7, 1.5],
  [-6.4, 17.0, 1.3, 0.7],
  [-2.2, 16.0, 0.8, 0.32],
  [0.9, 14.4, 0.55, 0.2],
  [-0.6, 10.9, 1.2, 0.42],
  [2.4, 11.0, 1.3, 0.45],
  [-3.2, 11.2, 1.5, 0.6],
  [7.6, 19.0, 1.5, 1.3],
  [5.0, 19.2, 0.7, 0.45],
  [4.6, 11.6, 1.4, 0.7],
  [0.95, 10.8, 0.95, 0.36],
];

const FACES = 11;
const generator = createGenerator(5127);

/** 1 in the clefts between the beds of the stone, 0 elsewhere: tilted sheets, wavy, open here and closed there. */
function cleft(x: number, y: number, z: number): number {
  const bed = 0.5 * x + 2.1 * y + 0.35 * z + 0.5 * noise(0.7 * x, 0.9 * y, 0.7 * z) + 0.12 * noise(3 * x, 3 * y, 3 * z);
  const off = Math.abs(bed * 1.6 - Math.round(bed * 1.6));
  return ramp(0.16, 0, off) * ramp(-0.35, 0.3, noise(0.9 * x + 7, 1.4 * y, 0.9 * z));
}

/** A rock is cut from a block by tilted planes, then worn: cracks and lumps come from noise. */
function createRock([cx, cz, half, height]: readonly [number, number, number, number]): Body {
  const faces = new Float64Array(4 * FACES);
  for (let i = 0; i < FACES; i++) {
    const turn = (2 * Math.PI * (i + 0.8 * generator.nextUnit())) / FACES;
    const tilt = i % 3 === 0 ? 1.05 + 0.4 * generator.nextUnit() : 0.1 + 0.6 * generator.nextUnit();
    faces[4 * i] = Math.cos(turn) * Math.cos(tilt);
    faces[4 * i + 1] = Math.sin(tilt);
    faces[4 * i + 2] = Math.sin(turn) * Math.cos(tilt);
    // Planes lie on an ellipsoid of the rock's size, some cut in.
    const reach = Math.hypot(half * Math.cos(tilt), height * Math.sin(tilt));
    faces[4 * i + 3] = reach * (0.74 + 0.26 * generator.nextUnit());
  }
  const margin = 0.3;
  return {
    low: [cx - 1.45 * half - margin, -0.15, cz - 1.45 * half - margin],
    high: [cx + 1.45 * half + margin, height + margin, cz + 1.45 * half + margin],
    distance(x, y, z) {
      let cut = -1e9;
      let second = -1e9;
      for (let i = 0; i < 4 * FACES; i += 4) {
        const d = (x - cx) * faces[i] + y * faces[i + 1] + (z - cz) * faces[i + 2] - faces[i + 3];
        if (d > 0.9) return 0.85 * (d - 0.24);
        if (d > cut) {
          second = cut;
          cut = d;
        } else if (d > second) second = d;
      }
      // Edges worn round where two faces meet.
      const h = Math.max(0.16 - (cut - second), 0) / 0.16;
      const block = cut + 0.04 * h * h - 0.02;
      if (block > 0.34) return 0.85 * (block - 0.24);
      const wear = 0.27 * roughness(1.3 * x, 2.3 * y, 1.3 * z, 3);
      return 0.68 * (block - wear);
    },
    relief: (x, y, z) =>
      0.075 * roughness(3.4 * x, 5.2 * y, 3.4 * z, 4) - 0.1 * cleft(x, y, z) + 0.014 * noise(23 * x, 23 * y, 23 * z),
    paint(surface, x, y, z, _nx, ny) {
      const line = y + 0.12 * noise(1.4 * x, 0, 1.4 * z);
      const wet = ramp(0.6, 0.2, line);
      const weed = ramp(0.3, 0.12, line);
      const stone =
        0.1 +
        0.09 * roughness(2 * x, 4 * y, 2 * z, 4) +
        0.07 * ramp(0.25, 0.5, noise(11 * x, 11 * y, 11 * z)) * ramp(0.2, 0.8, ny);
      surface.albedo = mix(mix(stone, 0.045, wet), 0.02, weed);
      surface.gloss = mix(0.06, 0.75, wet);
      surface.sharpness = mix(8, 34, wet);
    },
  };
}

/** Dark wet rocks along the lower edge. */
export const ROCK_BODIES: readonly Body[] = ROCKS.map(createRock);
