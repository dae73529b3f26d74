/** Gaps (NaN) of up to so many points along a closed line are filled linearly from their two ends; longer ones stay. */
export function bridgeGaps(values: readonly number[], longest: number): number[] {
  const n = values.length;
  const out = [...values];
  const start = values.findIndex((value) => !Number.isNaN(value));
  if (start < 0) return out;
  for (let k = 1; k <= n; k++) {
    const at = (start + k) % n;
    if (!Number.isNaN(values[at])) continue;
    let length = 1;
    while (Number.isNaN(values[(at + length) % n])) length++;
    if (length <= longest) {
      const before = values[(at + n - 1) % n];
      const after = values[(at + length) % n];
      for (let g = 0; g < length; g++) out[(at + g) % n] = before + ((after - before) * (g + 1)) / (length + 1);
    }
    k += length - 1;
  }
  return out;
}
