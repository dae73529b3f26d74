import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Pass } from '../../piece/schema.ts';
import { type Outcome, violationOf, WANTED_Z } from './outcome.ts';
import type { Limit, Obstacle } from './suggestion.ts';

/** So near to a limit, in standard deviations, that it holds the settings. */
const NEAR_Z = 0.3;

/** Ranges that a search keeps to: mm/s, mm. */
export interface SettingRanges {
  readonly feed: readonly [number, number];
  readonly pitch: readonly [number, number];
}

/** What holds settings where they are, the strongest reason first. */
export function limitsOf(space: SettingRanges, pass: Pass, outcome: Outcome): Limit[] {
  const limits: Limit[] = [];
  if (outcome.clearsZ !== null && outcome.clearsZ < WANTED_Z + NEAR_Z) limits.push('clearing');
  if (outcome.unscorchedZ < WANTED_Z + NEAR_Z) limits.push('scorch');
  if (Math.max(pass.lightEndPower, pass.darkEndPower) >= 0.995) limits.push('full-power');
  if (pass.feedMmPerS >= 0.995 * space.feed[1]) limits.push('top-feed');
  if (pass.rowPitchMm <= 1.03 * space.pitch[0]) limits.push('finest-rows');
  return limits;
}

/** L* between unburned and burned below which no picture can be seen. */
const SEEN_L = 6;

/** Tone error over the stack's own range from which nothing of a picture is left. */
const NO_PICTURE = 0.4;

/** Why none of the outcomes will do; null if one does. `rangeL`: L* between unburned and burned. */
export function obstacleOf(outcomes: readonly Outcome[], rangeL: number, lightens: boolean): Obstacle | null {
  if (rangeL < SEEN_L) return 'coats-alike';
  if (!lightens && outcomes.every(({ toneErrorL }) => toneErrorL > NO_PICTURE * rangeL)) return 'no-mark';
  if (outcomes.some((outcome) => violationOf(outcome) === 0)) return null;
  const cleared = outcomes.filter(({ clearsZ, unclearedShare }) => clearsZ === null || unclearedShare < CLEARED_SHARE);
  if (cleared.length === 0) return 'too-weak';
  return cleared.some(({ scorchedShare }) => scorchedShare < SCORCHED_SHARE) ? 'unsure' : 'scorches';
}
