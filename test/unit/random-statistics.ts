/** Mean and variance (over n) of a sample. */
export function moments(values: Float64Array): { mean: number; variance: number } {
  let sum = 0;
  for (const value of values) sum += value;
  const mean = sum / values.length;
  let squares = 0;
  for (const value of values) squares += (value - mean) ** 2;
  return { mean, variance: squares / values.length };
}

/** Pearson's correlation coefficient of two samples of the same length. */
export function correlation(a: Float64Array, b: Float64Array): number {
  const ofA = moments(a);
  const ofB = moments(b);
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] - ofA.mean) * (b[i] - ofB.mean);
  return sum / a.length / Math.sqrt(ofA.variance * ofB.variance);
}

/** Chi-square of unit numbers sorted into equal bins. */
export function chiSquare(values: Float64Array, bins: number): number {
  const counts = new Float64Array(bins);
  for (const value of values) counts[Math.floor(value * bins)]++;
  const expected = values.length / bins;
  return counts.reduce((sum, count) => sum + (count - expected) ** 2 / expected, 0);
}
