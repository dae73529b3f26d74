/**
 * Random numbers that belong to a place instead of a moment: the same seed and lattice point always give the same number,
 * in whatever order, strip or worker they are asked for.
 *
 * The hash is PCG3D: a linear congruential step per word, then two rounds of cross-multiplication.
 * Source: M. Jarzynski, M. Olano, "Hash functions for GPU rendering", J. Computer Graphics Techniques 9(3), 2020, listing 16.
 * Whole numbers are taken modulo 2³², so negative lattice points are fine.
 */
let first = 0;
let second = 0;

function hashThreeWords(seed: number, ix: number, iy: number): void {
  let x = (Math.imul(ix, 1664525) + 1013904223) | 0;
  let y = (Math.imul(iy, 1664525) + 1013904223) | 0;
  let z = (Math.imul(seed, 1664525) + 1013904223) | 0;
  x = (x + Math.imul(y, z)) | 0;
  y = (y + Math.imul(z, x)) | 0;
  z = (z + Math.imul(x, y)) | 0;
  x ^= x >>> 16;
  y ^= y >>> 16;
  z ^= z >>> 16;
  x = (x + Math.imul(y, z)) | 0;
  y = (y + Math.imul(z, x)) | 0;
  first = x >>> 0;
  second = y >>> 0;
}

/** Evenly distributed number in [0, 1), in steps of 2⁻³², for a lattice point. */
export function hashToUnit(seed: number, ix: number, iy: number): number {
  hashThreeWords(seed, ix, iy);
  return first / 4294967296;
}

/** Number of the standard normal distribution for a lattice point (Box and Muller 1958); at most 6.8 away from 0. */
export function hashToNormal(seed: number, ix: number, iy: number): number {
  hashThreeWords(seed, ix, iy);
  const radius = Math.sqrt(-2 * Math.log((first + 0.5) / 4294967296));
  return radius * Math.cos((2 * Math.PI * second) / 4294967296);
}
