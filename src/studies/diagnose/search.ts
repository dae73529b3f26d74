/** The lowest whole number from `low` to `high` that passes a test which all above it pass too; null if even `high` does not. */
export async function lowest(
  low: number,
  high: number,
  passes: (value: number) => Promise<boolean>,
): Promise<number | null> {
  if (low > high || !(await passes(high))) return null;
  let [from, to] = [low, high];
  while (from < to) {
    const middle = Math.floor((from + to) / 2);
    if (await passes(middle)) to = middle;
    else from = middle + 1;
  }
  return to;
}

/** The highest one that passes a test which all below it pass too; null if even `low` does not. */
export async function highest(
  low: number,
  high: number,
  passes: (value: number) => Promise<boolean>,
): Promise<number | null> {
  const found = await lowest(-high, -low, (value) => passes(-value));
  return found === null ? null : -found;
}
