import type { StripResult } from './strip-task.ts';

/** Values that are no finite numbers. */
export function countUnsound(values: ArrayLike<number>): number {
  let count = 0;
  for (let i = 0; i < values.length; i++) if (!(Math.abs(values[i]) < Number.POSITIVE_INFINITY)) count++;
  return count;
}

/**
 * Hands a burned strip on if every cell of it is a number. Whoever puts strips together asks: a single cell that is none would pass
 * for unburned in the picture and make a share or a mean of anything.
 * @throws RangeError with a sentence for people.
 */
export function soundStrip(strip: StripResult): StripResult {
  const { unsound } = strip.stats;
  if (unsound > 0) {
    throw new RangeError(
      `the burn went wrong: ${unsound} values of the rows from ${strip.y0 + 1} to ${strip.y0 + strip.rows} are no numbers, so nothing of it is shown`,
    );
  }
  return strip;
}
