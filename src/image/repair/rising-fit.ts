/**
 * The rising sequence that lies nearest to given values (least squares): neighbours that fall are put at their mean until none
 * does. Takes measuring noise out of what must rise.
 * Source: M. Ayer, H. D. Brunk, G. M. Ewing, W. T. Reid, E. Silverman, "An empirical distribution function for sampling with
 * incomplete information", Annals of Mathematical Statistics 26(4), 1955 (pool adjacent violators).
 * Test: test/unit/fit-tones.test.ts.
 * @returns as many values, none below the one before.
 */
export function fitRising(values: readonly number[]): number[] {
  const means: number[] = [];
  const counts: number[] = [];
  for (const value of values) {
    let mean = value;
    let count = 1;
    while (means.length > 0 && means[means.length - 1] >= mean) {
      const before = counts.pop() as number;
      mean = (mean * count + (means.pop() as number) * before) / (count + before);
      count += before;
    }
    means.push(mean);
    counts.push(count);
  }
  return means.flatMap((mean, i) => new Array<number>(counts[i]).fill(mean));
}
