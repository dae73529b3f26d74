import { normalQuantile } from './normal.ts';
import { MOST_Z } from './outcome.ts';

/** Shares nearer to nothing or everything than this cannot be told from few patches. */
const FAINT = 5e-4;

/**
 * How many standard deviations away a share that grows with them passes its limit, from its values at none and at `triedZ`. Shares of
 * an uneven film grow about as a normal distribution does, so their quantiles are joined by a straight line. Between ±`MOST_Z`.
 */
export function crossingZ(atNone: number, atTried: number, triedZ: number, limit: number): number {
  const quantile = (share: number) => normalQuantile(Math.min(1 - FAINT, Math.max(FAINT, share)));
  const bound = (z: number) => Math.min(MOST_Z, Math.max(-MOST_Z, z));
  const [none, tried, wanted] = [quantile(atNone), quantile(atTried), quantile(limit)];
  // Where both are faint, or both full, nobody knows the slope: one standard deviation of the share for one of the cause.
  const slope = Math.max(0.3, (tried - none) / triedZ);
  return bound(tried < wanted ? triedZ + (wanted - tried) / slope : (wanted - none) / slope);
}
