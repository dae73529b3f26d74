import { normalQuantile } from '../../base/normal.ts';
import { MOST_Z } from './outcome.ts';

/** Shares nearer to nothing or everything than this cannot be told from few patches. */
const FAINT = 5e-4;

/**
 * How many standard deviations away a share that grows with them passes its limit, from its values at none and at `triedZ`. Shares of
 * an uneven film grow about as a normal distribution does, so their quantiles lie on a straight line.
 * @param slope of that line where the two values do not tell it: spread of what is not known over that of the film.
 * @returns between ±`MOST_Z`.
 */
export function crossingZ(atNone: number, atTried: number, triedZ: number, limit: number, slope: number): number {
  const told = (share: number) => share > FAINT && share < 1 - FAINT;
  const quantile = (share: number) => normalQuantile(Math.min(1 - FAINT, Math.max(FAINT, share)));
  const [none, tried, wanted] = [quantile(atNone), quantile(atTried), quantile(limit)];
  const measured = told(atNone) && told(atTried) ? Math.max(0.2 * slope, (tried - none) / triedZ) : slope;
  const fromNone = (wanted - none) / measured;
  const fromTried = triedZ + (wanted - tried) / measured;
  const z = told(atTried)
    ? fromTried
    : told(atNone) || atNone >= 1 - FAINT
      ? fromNone
      : atTried <= FAINT
        ? fromTried
        : triedZ / 2;
  return Math.min(MOST_Z, Math.max(-MOST_Z, z));
}
