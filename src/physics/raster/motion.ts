/**
 * Time and speed of trapezoidal motion. Equations: textbook kinematics, checked against the rule of thirds in
 * `test/reference/motion.test.ts`.
 */

/** Time from rest to rest over a distance, s: `D/v + v/a`, or `2√(D/a)` where the feed is never reached. */
export function travelTimeS(distanceMm: number, feedMmPerS: number, accelerationMmPerS2: number): number {
  if (distanceMm <= 0) return 0;
  if (distanceMm >= (feedMmPerS * feedMmPerS) / accelerationMmPerS2) {
    return distanceMm / feedMmPerS + feedMmPerS / accelerationMmPerS2;
  }
  return 2 * Math.sqrt(distanceMm / accelerationMmPerS2);
}

/** Distance needed to get up to speed, `v² / (2a)`, mm. */
export function fullRunUpMm(feedMmPerS: number, accelerationMmPerS2: number): number {
  return (feedMmPerS * feedMmPerS) / (2 * accelerationMmPerS2);
}

/**
 * Least run-up of a row, however slow, mm: without any, the head would stand at the ends of the row with the beam on. An estimate: what
 * controllers blend between moves.
 */
export const LEAST_RUN_UP_MM = 0.2;

/** Run-up that rows get, mm: no longer than it takes to get up to speed, no longer than the machine's setting. */
export function usedRunUpMm(
  feedMmPerS: number,
  { runUpMm, accelerationMmPerS2 }: { readonly runUpMm: number; readonly accelerationMmPerS2: number },
): number {
  return Math.min(runUpMm, Math.max(LEAST_RUN_UP_MM, fullRunUpMm(feedMmPerS, accelerationMmPerS2)));
}

/** Ramp under limited jerk: time `v/a + a/j`, distance `(v/2)(v/a + a/j)`; valid if v ≥ a²/j. */
export function jerkRamp(
  feedMmPerS: number,
  accelerationMmPerS2: number,
  jerkMmPerS3: number,
): { timeS: number; distanceMm: number } {
  const timeS = feedMmPerS / accelerationMmPerS2 + accelerationMmPerS2 / jerkMmPerS3;
  return { timeS, distanceMm: (feedMmPerS / 2) * timeS };
}

/**
 * Time to cross a stretch of a row over the time at full feed, for a stretch that starts `fromMm` after the run-up began from
 * rest; 1 once the feed is reached. With `held` power this is also the dose over the wanted dose.
 */
export function rampFactor(fromMm: number, lengthMm: number, feedMmPerS: number, accelerationMmPerS2: number): number {
  const rampMm = fullRunUpMm(feedMmPerS, accelerationMmPerS2);
  if (fromMm >= rampMm || lengthMm <= 0) return 1;
  const onRampMm = Math.min(fromMm + lengthMm, rampMm);
  const rampTimeS =
    Math.sqrt((2 * onRampMm) / accelerationMmPerS2) - Math.sqrt((2 * Math.max(0, fromMm)) / accelerationMmPerS2);
  const restMm = fromMm + lengthMm - onRampMm;
  return ((rampTimeS + restMm / feedMmPerS) * feedMmPerS) / lengthMm;
}
