import type { ThresholdMatrix } from './threshold-matrix.ts';

/**
 * Clustered dots at 45°: two round spots per square of `size` dots, which grow until they touch at half tone and then leave
 * round holes. The order is that of a spot function, here cos 2πu · cos 2πv with peaks in the corners and in the middle of the
 * square; dots it cannot tell apart take turns between the two spots, and go round each of them.
 * Source of the idea: R. Ulichney, "Digital Halftoning", MIT Press 1987, ch. 5 (clustered-dot ordered dither, the classical screen).
 * @param size even, ≥ 2 and ≤ 256.
 * @throws RangeError for another size.
 */
export function createClusteredDotMatrix(size: number): ThresholdMatrix {
  if (!(size >= 2 && size <= 256 && size % 2 === 0))
    throw new RangeError(`a clustered dot needs an even size, got ${size}`);
  const dots = Array.from({ length: size * size }, (_, index) => {
    const u = ((index % size) + 0.5) / size;
    const v = (Math.floor(index / size) + 0.5) / size;
    const inMiddle = Math.abs(u - 0.5) + Math.abs(v - 0.5) < 0.5;
    const centre = inMiddle ? 0.5 : 0;
    return {
      index,
      spot: Math.round(1e6 * Math.cos(2 * Math.PI * u) * Math.cos(2 * Math.PI * v)),
      angle: Math.round(1e6 * Math.atan2(toNearest(v - centre), toNearest(u - centre))),
      inMiddle: Number(inMiddle),
    };
  });
  dots.sort((a, b) => b.spot - a.spot || a.angle - b.angle || a.inMiddle - b.inMiddle || a.index - b.index);
  const ranks = new Uint16Array(size * size);
  dots.forEach((dot, rank) => {
    ranks[dot.index] = rank;
  });
  return { size, ranks };
}

/** Distance on a circle of length 1, −0.5 … 0.5. */
const toNearest = (distance: number): number => distance - Math.round(distance);
