const BINS = 256;

/**
 * The threshold that parts values into two groups with the largest variance between them.
 * Source: N. Otsu, "A threshold selection method from gray-level histograms", IEEE Trans. SMC 9(1), 1979, eq. 18.
 * Test: test/unit/slab-segment.test.ts.
 * @param top the histogram's 256 bins run from 0 to here; values beyond count in the last.
 * @returns the upper edge of the last bin of the lower group.
 */
export function otsuThreshold(values: Iterable<number>, top: number): number {
  const histogram = new Float64Array(BINS);
  let count = 0;
  let total = 0;
  for (const value of values) {
    const bin = Math.min(BINS - 1, Math.max(0, Math.floor((value / top) * BINS)));
    histogram[bin]++;
    count++;
    total += bin;
  }
  let below = 0;
  let sum = 0;
  let best = -1;
  let first = 0;
  let last = 0;
  for (let k = 0; k < BINS - 1; k++) {
    below += histogram[k];
    sum += k * histogram[k];
    if (below === 0 || below === count) continue;
    const between = (total * below - sum * count) ** 2 / (below * (count - below));
    if (between > best) {
      best = between;
      first = k;
    }
    // Where nothing lies between the groups many thresholds are equally good: the middle one is taken.
    if (between === best) last = k;
  }
  return (((first + last) / 2 + 1) / BINS) * top;
}
