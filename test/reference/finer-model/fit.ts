/**
 * Least squares over two positive numbers: a grid of factors around the best pair so far, ever finer. Slow and plain; `misfit` is the
 * sum of squares.
 */
export function fitTwo(
  misfit: (first: number, second: number) => number,
  start: readonly [number, number],
): readonly [number, number] {
  let best = start;
  let least = misfit(...start);
  for (let span = Math.log(1.5); span > 1e-5; ) {
    const around = best;
    let found = false;
    for (let i = -6; i <= 6; i++) {
      for (let j = -6; j <= 6; j++) {
        const pair = [around[0] * Math.exp((span * i) / 6), around[1] * Math.exp((span * j) / 6)] as const;
        const value = misfit(...pair);
        if (value < least) {
          least = value;
          best = pair;
          found = true;
        }
      }
    }
    if (!found) span *= 0.6;
  }
  return best;
}
