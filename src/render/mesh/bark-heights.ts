import { periodicNoise, tileHash } from './periodic-noise.ts';
import { stretchHeights } from './stretch-heights.ts';

const SIZE = 256;
/** Size of the tile round the trunk and along it. */
export const BARK_TILE_MM = { round: 72, along: 108 } as const;
/** Plates of bark across the tile and along it: about 4 mm wide and 36 mm long, as on a young trunk of lime. */
const PLATES = { round: 18, along: 3 } as const;

/** How far inside its plate a place is: distance to the nearest other plate over distance to its own middle (F2 − F1). */
function plateDepth(x: number, y: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  let nearest = 9;
  let second = 9;
  for (let j = -2; j <= 1; j++) {
    for (let i = -1; i <= 1; i++) {
      const cx = (x0 + i + PLATES.round) % PLATES.round;
      const cy = (y0 + j + 2 * PLATES.along) % PLATES.along;
      const px = x0 + i + 0.15 + 0.7 * tileHash(cx, cy, 21);
      // Neighbouring columns are half a plate out of step, as bricks are.
      const py = y0 + j + 0.5 * (cx % 2) + 0.1 + 0.55 * tileHash(cx, cy, 22);
      const distance = Math.hypot(px - x, (py - y) * 1.15);
      if (distance < nearest) {
        second = nearest;
        nearest = distance;
      } else if (distance < second) second = distance;
    }
  }
  return second - nearest;
}

/**
 * Heights 0…1 of bark, a tile that repeats: plates drawn out along the trunk with furrows between them (S. Worley, "A cellular texture
 * basis function", SIGGRAPH 1996), and fibres on top. x runs round the trunk, y along it.
 */
export function barkHeights(size = SIZE): Float32Array {
  const height = new Float32Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const u = x / size;
      const v = y / size;
      const sway =
        periodicNoise(u * 7, v * 9, 7, 9, 11) - 0.5 + 0.4 * (periodicNoise(u * 15, v * 19, 15, 19, 12) - 0.5);
      const depth = plateDepth(u * PLATES.round + 1.1 * sway, v * PLATES.along + 0.12 * sway);
      const t = Math.min(1, depth / 0.3);
      const plate = t * (2 - t);
      // Plates split along their fibres, and crumble.
      const split = Math.abs(2 * periodicNoise(u * 34 + 1.2 * sway, v * 8, 34, 8, 16) - 1);
      const fibre = periodicNoise(u * 80, v * 18, 80, 18, 13);
      const crumb = periodicNoise(u * 64, v * 88, 64, 88, 14);
      const slow = periodicNoise(u * 9, v * 5, 9, 5, 15);
      height[y * size + x] =
        0.46 * plate +
        0.26 * Math.min(1, 3.2 * split) * (0.35 + 0.65 * plate) +
        0.14 * fibre +
        0.13 * crumb +
        0.16 * slow;
    }
  }
  return stretchHeights(height);
}

/** Height of the tile at a place in mm, 0…1; `heights` as `barkHeights` makes them. */
export function barkHeightAt(heights: Float32Array, roundMm: number, alongMm: number): number {
  const size = Math.sqrt(heights.length);
  const x = (((roundMm / BARK_TILE_MM.round) % 1) + 1) * size;
  const y = (((alongMm / BARK_TILE_MM.along) % 1) + 1) * size;
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const at = (i: number, j: number): number => heights[((y0 + j) % size) * size + ((x0 + i) % size)];
  const north = at(0, 0) + (at(1, 0) - at(0, 0)) * (x - x0);
  const south = at(0, 1) + (at(1, 1) - at(0, 1)) * (x - x0);
  return north + (south - north) * (y - y0);
}
