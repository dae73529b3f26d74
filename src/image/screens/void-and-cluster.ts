import { createGenerator } from '../../base/random/generator.ts';
import type { ThresholdMatrix } from './threshold-matrix.ts';

export interface VoidAndClusterOptions {
  readonly size: number;
  readonly seed: number;
}

export const VOID_AND_CLUSTER_DEFAULTS: VoidAndClusterOptions = { size: 64, seed: 1993 };

/** Standard deviation, in dots, of the Gaussian that measures crowding. */
const SIGMA = 1.5;
/** A second, wide and faint one. It decides where the first is blind, in tones of a few dots in a hundred; ours, not Ulichney's. */
const WIDE_SIGMA = 5;
const WIDE_SHARE = 1e-3;

/**
 * Blue-noise matrix by void-and-cluster: starts from a tenth of dots thrown at random and evened out by moving dots from the
 * tightest cluster to the largest void, ranks these by taking away the tightest cluster, and all others by filling the largest
 * void. (Ulichney's third phase, the tightest cluster of unfilled dots, picks the same dot, as crowding is a plain sum.)
 * Crowding is summed in whole numbers, so that ties are ties on every machine.
 * Source: R. Ulichney, "The void-and-cluster method for dither array generation", Proc. SPIE 1913, 1993, with σ = 1.5 and a faint wide tail of ours.
 * @param options size 2 … 256 and seed.
 * @throws RangeError for another size or an impossible seed.
 */
export function createBlueNoiseMatrix(options: VoidAndClusterOptions = VOID_AND_CLUSTER_DEFAULTS): ThresholdMatrix {
  const { size, seed } = options;
  if (!(Number.isInteger(size) && size >= 2 && size <= 256))
    throw new RangeError(`blue noise needs a size of 2–256, got ${size}`);
  const count = size * size;
  const pattern = createPattern(size);
  scatter(pattern, Math.max(1, Math.round(count / 10)), seed);
  evenOut(pattern);

  const ranks = new Uint16Array(count);
  const start = pattern.filled.slice();
  const filled = start.reduce((sum, dot) => sum + dot, 0);
  for (let rank = filled - 1; rank >= 0; rank--) {
    const dot = tightestCluster(pattern);
    toggle(pattern, dot);
    ranks[dot] = rank;
  }
  start.forEach((dot, index) => {
    if (dot) toggle(pattern, index);
  });
  for (let rank = filled; rank < count; rank++) {
    const dot = largestVoid(pattern);
    toggle(pattern, dot);
    ranks[dot] = rank;
  }
  return { size, ranks };
}

interface Pattern {
  readonly size: number;
  readonly filled: Uint8Array;
  /** Sum of the Gaussians of all other filled dots. */
  readonly crowding: Float64Array;
  /** Gaussian by distance in x and y; 0 for the dot itself. */
  readonly gaussian: Float64Array;
}

function createPattern(size: number): Pattern {
  const gaussian = Float64Array.from({ length: size * size }, (_, i) => {
    const x = Math.min(i % size, size - (i % size));
    const row = Math.floor(i / size);
    const y = Math.min(row, size - row);
    const square = x * x + y * y;
    const near = Math.exp(-square / (2 * SIGMA * SIGMA));
    return square && Math.round(2 ** 30 * (near + WIDE_SHARE * Math.exp(-square / (2 * WIDE_SIGMA * WIDE_SIGMA))));
  });
  return { size, gaussian, filled: new Uint8Array(size * size), crowding: new Float64Array(size * size) };
}

function toggle(pattern: Pattern, dot: number): void {
  const { size, filled, crowding, gaussian } = pattern;
  filled[dot] ^= 1;
  const sign = filled[dot] ? 1 : -1;
  const dotX = dot % size;
  const dotY = (dot - dotX) / size;
  for (let y = 0, i = 0; y < size; y++) {
    const row = ((y - dotY + size) % size) * size;
    for (let x = 0, dx = dotX ? size - dotX : 0; x < size; x++, i++) {
      crowding[i] += sign * gaussian[row + dx];
      dx = dx + 1 === size ? 0 : dx + 1;
    }
  }
}

function scatter(pattern: Pattern, dots: number, seed: number): void {
  const random = createGenerator(seed);
  for (let placed = 0; placed < dots; ) {
    const dot = random.nextUint32() % pattern.filled.length;
    if (pattern.filled[dot]) continue;
    toggle(pattern, dot);
    placed++;
  }
}

/** Each move lowers the crowding of the whole, so it comes to an end. */
function evenOut(pattern: Pattern): void {
  for (;;) {
    const from = tightestCluster(pattern);
    toggle(pattern, from);
    const to = largestVoid(pattern);
    const better = pattern.crowding[to] < pattern.crowding[from];
    toggle(pattern, better ? to : from);
    if (!better) return;
  }
}

function tightestCluster({ filled, crowding }: Pattern): number {
  let best = -1;
  for (let i = 0; i < filled.length; i++) if (filled[i] && (best < 0 || crowding[i] > crowding[best])) best = i;
  return best;
}

function largestVoid({ filled, crowding }: Pattern): number {
  let best = -1;
  for (let i = 0; i < filled.length; i++) if (!filled[i] && (best < 0 || crowding[i] < crowding[best])) best = i;
  return best;
}
