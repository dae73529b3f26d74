import type { Pass } from '../../piece/schema.ts';
import type { Weighted } from '../sure/weighted.ts';
import type { Draw } from './draws.ts';
import type { RescueSample } from './rescue-sample.ts';
import { changeAt, tryPass } from './try-powers.ts';

/** Leave the dark areas as they are, or open them a little on purpose. */
export type DarksWish = 'leave' | 'open';

/** The dark areas change less than one can see (CIEDE2000; 1 is about just noticeable side by side). */
export const DARKS_STAY = 0.5;
/** What opening them means: a difference that one sees at once. */
const DARKS_OPEN = 3;
const TRIES = 8;

export interface DarkEnd {
  readonly power: number;
  /** Highest dark-end power tried that still leaves the dark areas alone in nine of ten draws, up to the light end. */
  readonly harmless: number;
  /** ΔE00 of the dark areas that one draw in ten exceeds, at `power`. */
  readonly change: number;
}

/**
 * The dark-end power for a further pass whose light-end power is known: none at all, or the lowest that opens the dark areas visibly
 * in half of the draws (the light-end power, if none does). @throws Cancelled if told to stop.
 */
export async function chooseDarkEnd(
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  pass: Pass,
  wish: DarksWish,
): Promise<DarkEnd> {
  const atNone = changeAt(await tryPass(sample, draws, { ...pass, darkEndPower: 0 }), 'darkRgb', 0.9);
  let harmless = 0;
  let opened: { power: number; change: number } | null = null;
  for (let i = 1; i <= TRIES; i++) {
    const power = Math.round((1000 * pass.lightEndPower * i) / TRIES) / 1000;
    const outcomes = await tryPass(sample, draws, { ...pass, darkEndPower: power });
    const change = changeAt(outcomes, 'darkRgb', 0.9);
    if (change < DARKS_STAY) harmless = power;
    if (changeAt(outcomes, 'darkRgb', 0.5) >= DARKS_OPEN || i === TRIES) opened ??= { power, change };
    if (change >= DARKS_STAY && (wish === 'leave' || opened)) break;
  }
  if (wish === 'leave' || !opened) return { power: 0, harmless, change: atNone };
  return { ...opened, harmless };
}
