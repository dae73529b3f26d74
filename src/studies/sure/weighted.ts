/** Likely truths with weights; weights are not negative and need not sum to 1. */
export interface Weighted<Value> {
  readonly value: Value;
  readonly weight: number;
}

/** The value below which a share of the weight lies. @throws RangeError without any weight. */
export function weightedQuantile(values: readonly Weighted<number>[], share: number): number {
  const sorted = values.filter(({ weight }) => weight > 0).sort((a, b) => a.value - b.value);
  if (sorted.length === 0) throw new RangeError('nothing has any weight');
  const total = sorted.reduce((sum, { weight }) => sum + weight, 0);
  let sum = 0;
  for (const { value, weight } of sorted) {
    sum += weight;
    if (sum >= share * total - 1e-12) return value;
  }
  return sorted[sorted.length - 1].value;
}

export function weightedMean(values: readonly Weighted<number>[]): number {
  const total = values.reduce((sum, { weight }) => sum + weight, 0);
  return values.reduce((sum, { value, weight }) => sum + weight * value, 0) / total;
}

/** Standard deviation about the weighted mean. */
export function weightedDeviation(values: readonly Weighted<number>[]): number {
  const mean = weightedMean(values);
  return Math.sqrt(weightedMean(values.map(({ value, weight }) => ({ value: (value - mean) ** 2, weight }))));
}

/** How many equally weighted values would tell as much: (Σw)² / Σw² (Kish 1965). */
export function effectiveCount(values: readonly Weighted<unknown>[]): number {
  const sum = values.reduce((total, { weight }) => total + weight, 0);
  const squares = values.reduce((total, { weight }) => total + weight * weight, 0);
  return squares > 0 ? (sum * sum) / squares : 0;
}

/**
 * At most `count` of the values that stand for all: systematic resampling, equal ones merged. Their weights sum to 1.
 * Source: G. Kitagawa, "Monte Carlo filter and smoother", J. Comput. Graph. Stat. 5 (1996), stratified version, with a fixed start.
 */
export function thinOut<Value>(values: readonly Weighted<Value>[], count: number): Weighted<Value>[] {
  const total = values.reduce((sum, { weight }) => sum + weight, 0);
  const picked = new Map<Value, number>();
  let sum = 0;
  let next = 0;
  for (const { value, weight } of values) {
    sum += weight / total;
    while (next < count && (next + 0.5) / count <= sum + 1e-12) {
      picked.set(value, (picked.get(value) ?? 0) + 1 / count);
      next++;
    }
  }
  return [...picked].map(([value, weight]) => ({ value, weight }));
}
