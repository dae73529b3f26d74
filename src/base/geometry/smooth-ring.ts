/**
 * Values along a closed line, evenly spaced, blurred with a Gaussian cut at four standard deviations.
 * @param sigma in steps; below 0.05 the values are only copied.
 */
export function smoothRing(values: ArrayLike<number>, sigma: number): Float64Array {
  const n = values.length;
  const out = Float64Array.from(values);
  if (!(sigma >= 0.05) || n === 0) return out;
  const reach = Math.ceil(4 * sigma);
  const weights = Float64Array.from({ length: reach + 1 }, (_, i) => Math.exp(-(i * i) / (2 * sigma * sigma)));
  const sum = weights.reduce((total, weight, i) => total + (i ? 2 * weight : weight), 0);
  for (let i = 0; i < n; i++) {
    let total = weights[0] * values[i];
    for (let k = 1; k <= reach; k++) total += weights[k] * (values[(i + k) % n] + values[(((i - k) % n) + n) % n]);
    out[i] = total / sum;
  }
  return out;
}

/** Median of each value and its `reach` neighbours either way along a closed line; values that are NaN are passed over. */
export function medianRing(values: ArrayLike<number>, reach: number): Float64Array {
  const n = values.length;
  return Float64Array.from({ length: n }, (_, i) => {
    const near: number[] = [];
    for (let k = -reach; k <= reach; k++) {
      const value = values[(((i + k) % n) + n) % n];
      if (!Number.isNaN(value)) near.push(value);
    }
    near.sort((a, b) => a - b);
    const middle = near.length >> 1;
    return near.length === 0 ? Number.NaN : near.length % 2 ? near[middle] : (near[middle - 1] + near[middle]) / 2;
  });
}
