import {
  DataTexture,
  LinearFilter,
  LinearMipmapLinearFilter,
  RepeatWrapping,
  RGBAFormat,
  UnsignedByteType,
} from 'three';

const SIZE = 256;
/** Lattice cells across the tile, and their share of the height. */
const OCTAVES = [
  [9, 1],
  [19, 0.6],
  [41, 0.34],
  [83, 0.16],
] as const;

/** Small integer hash to 0…1 (a multiply-and-shift mix of our own choosing; only its look matters). */
function hash(x: number, y: number, octave: number): number {
  let h = Math.imul(x, 0x27d4eb2d) ^ Math.imul(y, 0x165667b1) ^ Math.imul(octave + 1, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

/** Value noise with quintic blending (K. Perlin, "Improving noise", SIGGRAPH 2002) that repeats after `cells`. */
function periodicNoise(x: number, y: number, cells: number, octave: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const fade = (t: number): number => t * t * t * (t * (t * 6 - 15) + 10);
  const u = fade(x - x0);
  const v = fade(y - y0);
  const at = (i: number, j: number): number => hash((x0 + i) % cells, (y0 + j) % cells, octave);
  const north = at(0, 0) + (at(1, 0) - at(0, 0)) * u;
  const south = at(0, 1) + (at(1, 1) - at(0, 1)) * u;
  return north + (south - north) * v;
}

/** Heights 0…1 of the unevenness of a sprayed coat, a tile that repeats. */
export function coatHeights(size = SIZE): Float32Array {
  const height = new Float32Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      let sum = 0;
      OCTAVES.forEach(([cells, share], octave) => {
        sum += share * periodicNoise((x / size) * cells, (y / size) * cells, cells, octave);
      });
      height[y * size + x] = sum;
    }
  }
  let low = Infinity;
  let high = -Infinity;
  for (const h of height) {
    low = Math.min(low, h);
    high = Math.max(high, h);
  }
  for (let i = 0; i < height.length; i++) height[i] = (height[i] - low) / (high - low);
  return height;
}

/** The tile as a texture: slopes east and south around 0.5, their mean square, and the height; slopes are ±1 at most. */
export function createCoatTexture(anisotropy: number): DataTexture {
  const height = coatHeights();
  const at = (x: number, y: number): number => height[((y + SIZE) % SIZE) * SIZE + ((x + SIZE) % SIZE)];
  const slopes = new Float32Array(SIZE * SIZE * 2);
  let steepest = 1e-9;
  for (let y = 0; y < SIZE; y++) {
    for (let x = 0; x < SIZE; x++) {
      const i = 2 * (y * SIZE + x);
      slopes[i] = at(x + 1, y) - at(x - 1, y);
      slopes[i + 1] = at(x, y + 1) - at(x, y - 1);
      steepest = Math.max(steepest, Math.abs(slopes[i]), Math.abs(slopes[i + 1]));
    }
  }
  const data = new Uint8Array(SIZE * SIZE * 4);
  for (let i = 0; i < SIZE * SIZE; i++) {
    const east = slopes[2 * i] / steepest;
    const south = slopes[2 * i + 1] / steepest;
    data[4 * i] = Math.round(127.5 + 127.5 * east);
    data[4 * i + 1] = Math.round(127.5 + 127.5 * south);
    data[4 * i + 2] = Math.round(127.5 * (east * east + south * south));
    data[4 * i + 3] = Math.round(255 * height[i]);
  }
  const texture = new DataTexture(data, SIZE, SIZE, RGBAFormat, UnsignedByteType);
  texture.wrapS = RepeatWrapping;
  texture.wrapT = RepeatWrapping;
  texture.magFilter = LinearFilter;
  texture.minFilter = LinearMipmapLinearFilter;
  texture.generateMipmaps = true;
  texture.anisotropy = anisotropy;
  texture.needsUpdate = true;
  return texture;
}
