/**
 * Percentiles of values 0–1 from a histogram of 4096 bins, straight inside a bin: right to within 1/4096. Values beyond count as 0 or
 * 1; not-a-number and dots whose mask is 0 do not count.
 * @param shares places in the order of the values, 0 (the least) – 1 (the greatest).
 * @returns one value per share; all 0 if nothing counts.
 */
export function findPercentiles(
  values: Float32Array,
  shares: readonly number[],
  mask: Uint8Array | null = null,
): number[] {
  const counts = new Float64Array(BINS);
  for (let i = 0; i < values.length; i++) {
    if (mask !== null && mask[i] === 0) continue;
    const value = values[i];
    if (value >= 1) counts[BINS - 1]++;
    else if (value > 0) counts[(value * BINS) | 0]++;
    else if (value <= 0) counts[0]++;
  }
  return shares.map((share) => {
    const { bin, inside } = locateShare(counts, share);
    return (bin + inside) / BINS;
  });
}

const BINS = 4096;

/** The bin in which a share (0–1) of all counts is reached, and how far into it, 0–1. Bin 0 if nothing was counted. */
export function locateShare(counts: Float64Array, share: number): { bin: number; inside: number } {
  const total = counts.reduce((sum, count) => sum + count, 0);
  if (total === 0) return { bin: 0, inside: 0 };
  const wanted = Math.min(1, Math.max(0, share)) * total;
  let before = 0;
  let bin = 0;
  while (bin < counts.length - 1 && (counts[bin] === 0 || before + counts[bin] < wanted)) before += counts[bin++];
  // A share that is reached just where counts end is reached in the last bin that has any.
  while (bin > 0 && counts[bin] === 0) before -= counts[--bin];
  return { bin, inside: counts[bin] > 0 ? Math.min(1, Math.max(0, (wanted - before) / counts[bin])) : 0 };
}
