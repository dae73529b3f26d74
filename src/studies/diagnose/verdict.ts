import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Certainty } from '../../piece/schema.ts';
import type { Judgement } from '../sure/judge.ts';
import { type Finding, SHOWS } from './finding.ts';
import { inLikelyCases, percent } from './words.ts';

/** Odds from which on a maker may count on it, on the whole expect it, and no more than hope for it (choices of ours). */
const SURE = 0.95;
const LIKELY = 0.75;
const OPEN = 0.4;

/**
 * One sentence over all, led by the odds: in what share of the likely cases the light areas clear and nothing scorches. What else shows is
 * said after it; it never says more than the odds do.
 */
export function verdictOf(
  { clears, accepted }: Pick<Judgement, 'clears' | 'accepted'>,
  findings: readonly Pick<Finding, 'severity' | 'kind'>[],
  source: Certainty['source'],
): string {
  const cases = inLikelyCases(accepted);
  const what = clears === null ? 'the undercoat stays unscorched' : 'the light areas clear and nothing scorches';
  // The odds are told already.
  const others = findings.filter(
    ({ severity, kind }) => severity >= SHOWS && !['unsure', 'uncleared', 'may-scorch', 'scorch'].includes(kind),
  ).length;
  const card = source === 'calibrated' ? '' : ' Burn a card first: it makes this surer.';
  const also = others === 0 ? '' : others === 1 ? ' One more thing will show.' : ` ${others} more things will show.`;
  if (accepted >= SURE) {
    const well = clears === null ? 'It stays unscorched' : 'It comes out clear and unscorched';
    if (others > 0) return `${well} ${cases}, but ${others === 1 ? 'one thing' : `${others} things`} will show.`;
    return `It will come out: ${what} ${cases}.`;
  }
  if (accepted >= LIKELY) return `It will likely come out: ${what} ${cases}.${also}${card}`;
  if (accepted >= OPEN) return `It may come out: ${what} ${cases}. Do not burn it yet.${also}${card}`;
  return `It will not come out as it is set: ${what} ${accepted > 0 ? 'only ' : ''}${cases}.${also}`;
}

/** What the odds count. */
export const ODDS_COUNT = `A case counts where less than ${percent(CLEARED_SHARE)} of the light areas’ dots stay dark and less than ${percent(SCORCHED_SHARE)} of the picture scorches.`;
