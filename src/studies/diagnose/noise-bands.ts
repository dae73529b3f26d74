import { cyclesPerDeg, relativeSensitivity } from './contrast-sensitivity.ts';

/** Fluctuation of L* in one octave of spatial frequency: its middle in cycles/mm, its variance. */
export interface NoiseBand {
  readonly cyclesPerMm: number;
  readonly variance: number;
}

/** A plane with only some places that count, row-major. */
export interface PartialPlane {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly values: Float32Array;
  /** 0 where a place does not count. */
  readonly counts: Uint8Array;
}

/** Middle of the octave that blocks of two places tell apart: between a quarter and half a cycle per place. */
export const octaveOf = (pitchMm: number): number => 1 / (2 * Math.SQRT2 * pitchMm);

/**
 * One step of the Haar pyramid: means of blocks of 2 × 2 places all of which count, and the mean variance inside such blocks, which is
 * what the octave between the two scales holds. Variances of all octaves and of the last means add up to that of the plane.
 */
export function haarStep(plane: PartialPlane): { coarser: PartialPlane; variance: number; blocks: number } {
  const { width, values, counts } = plane;
  const w = Math.floor(width / 2);
  const h = Math.floor(plane.height / 2);
  const coarser = {
    width: w,
    height: h,
    pitchMm: 2 * plane.pitchMm,
    values: new Float32Array(w * h),
    counts: new Uint8Array(w * h),
  };
  let sum = 0;
  let blocks = 0;
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const at = 2 * y * width + 2 * x;
      if (!(counts[at] && counts[at + 1] && counts[at + width] && counts[at + width + 1])) continue;
      const [a, b, c, d] = [values[at], values[at + 1], values[at + width], values[at + width + 1]];
      const mean = (a + b + c + d) / 4;
      sum += ((a - mean) ** 2 + (b - mean) ** 2 + (c - mean) ** 2 + (d - mean) ** 2) / 4;
      blocks++;
      coarser.values[y * w + x] = mean;
      coarser.counts[y * w + x] = 1;
    }
  }
  return { coarser, variance: blocks > 0 ? sum / blocks : 0, blocks };
}

/** Fewer blocks than this tell nothing about a scale. */
const LEAST_BLOCKS = 16;

/** Octaves of a plane from its finest up, for as long as there is enough of it. */
export function noiseBands(plane: PartialPlane): NoiseBand[] {
  const bands: NoiseBand[] = [];
  let level = plane;
  for (;;) {
    const { coarser, variance, blocks } = haarStep(level);
    if (blocks < LEAST_BLOCKS) return bands;
    bands.push({ cyclesPerMm: octaveOf(level.pitchMm), variance });
    level = coarser;
  }
}

/**
 * Noise as it is seen from a distance, L*: root of the octaves' variances, each weighted with the square of the eye's relative contrast
 * sensitivity in its middle. The idea of splitting by scale is that of ISO/IEC 24790, from memory; its own filters are others.
 */
export function seenNoise(bands: readonly NoiseBand[], distanceMm: number): number {
  const weighted = bands.reduce(
    (sum, { cyclesPerMm, variance }) =>
      sum + variance * relativeSensitivity(cyclesPerDeg(cyclesPerMm, distanceMm)) ** 2,
    0,
  );
  return Math.sqrt(weighted);
}
