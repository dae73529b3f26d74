import type { DataTexture } from 'three';
import { periodicNoise } from '../../mesh/periodic-noise.ts';
import { stretchHeights } from '../../mesh/stretch-heights.ts';
import { createSlopeTexture } from './slope-texture.ts';

const SIZE = 256;
/** Lattice cells across the tile, and their share of the height. */
const OCTAVES = [
  [9, 1],
  [19, 0.6],
  [41, 0.34],
  [83, 0.16],
] as const;

/** Heights 0…1 of the unevenness of a sprayed coat, a tile that repeats. */
export function coatHeights(size = SIZE): Float32Array {
  const height = new Float32Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      let sum = 0;
      OCTAVES.forEach(([cells, share], octave) => {
        sum += share * periodicNoise((x / size) * cells, (y / size) * cells, cells, cells, octave);
      });
      height[y * size + x] = sum;
    }
  }
  return stretchHeights(height);
}

/** The tile as a texture. */
export const createCoatTexture = (anisotropy: number): DataTexture =>
  createSlopeTexture(coatHeights(), SIZE, anisotropy);
