import type { ThresholdMatrix } from './threshold-matrix.ts';

/**
 * Bayer's matrix of dispersed dots: neighbouring ranks lie as far apart as they can.
 * Recursion: M₁ = 0; M₂ₙ is four copies of 4·Mₙ with 0, 2 / 3, 1 added.
 * Source: B. E. Bayer, "An optimum method for two-level rendition of continuous-tone pictures", IEEE ICC 1973.
 * @throws RangeError if the size is not a power of two from 1 to 256.
 */
export function createBayerMatrix(size: number): ThresholdMatrix {
  if (!(size >= 1 && size <= 256 && Number.isInteger(Math.log2(size)))) {
    throw new RangeError(`a Bayer matrix has a power of two as its size, got ${size}`);
  }
  const ranks = new Uint16Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      let rank = 0;
      for (let bit = 1; bit < size; bit *= 2) {
        const right = x & bit ? 1 : 0;
        const down = y & bit ? 1 : 0;
        rank = rank * 4 + (down ? 3 - 2 * right : 2 * right);
      }
      ranks[y * size + x] = rank;
    }
  }
  return { size, ranks };
}
