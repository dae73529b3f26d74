import { periodicNoise } from '../../mesh/periodic-noise.ts';
import { stretchHeights } from '../../mesh/stretch-heights.ts';
import type { Picture } from './textures.ts';

const SIZE = 256;
const slope = (rise: number): number => Math.min(255, Math.max(0, 128 + 700 * rise));
/** Lattice cells across the tile, and their share of the height. */
const OCTAVES = [
  [6, 1],
  [13, 0.62],
  [29, 0.4],
  [61, 0.25],
  [117, 0.12],
] as const;

function heights(seed: number): Float32Array {
  const out = new Float32Array(SIZE * SIZE);
  for (let y = 0; y < SIZE; y++) {
    for (let x = 0; x < SIZE; x++) {
      let sum = 0;
      OCTAVES.forEach(([cells, share], octave) => {
        sum += share * periodicNoise((x / SIZE) * cells, (y / SIZE) * cells, cells, cells, seed + octave);
      });
      out[y * SIZE + x] = sum;
    }
  }
  return stretchHeights(out);
}

/** A tile of noise that repeats: a height, its slopes right and down round 128, another height. */
export function noisePicture(): Picture {
  const one = heights(3);
  const other = heights(40);
  const data = new Uint8Array(SIZE * SIZE * 4);
  const at = (x: number, y: number) => one[((y + SIZE) % SIZE) * SIZE + ((x + SIZE) % SIZE)];
  for (let y = 0; y < SIZE; y++) {
    for (let x = 0; x < SIZE; x++) {
      const i = 4 * (y * SIZE + x);
      data[i] = 255 * at(x, y);
      data[i + 1] = slope(at(x + 1, y) - at(x - 1, y));
      data[i + 2] = slope(at(x, y + 1) - at(x, y - 1));
      data[i + 3] = 255 * other[y * SIZE + x];
    }
  }
  return { width: SIZE, height: SIZE, data };
}
