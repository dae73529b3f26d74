import { WANTED_ODDS } from './outcome.ts';
import type { ChooseResult, Suggestion } from './suggestion.ts';

const leastOdds = ({ odds }: Suggestion): number => Math.min(odds?.clears ?? 1, odds?.unscorched ?? 0);

export const keepsOdds = (suggestion: Suggestion): boolean => leastOdds(suggestion) >= WANTED_ODDS;

/** A result once its suggestions, or what came nearest, have odds: only what keeps them is suggested. */
export function settled(result: ChooseResult, judged: readonly Suggestion[]): ChooseResult {
  const works = judged.filter(keepsOdds);
  // What was taken for just too little may turn out good enough.
  if (works.length > 0 && (!result.nearest || result.obstacle === 'unsure')) {
    return { ...result, suggestions: works, obstacle: null, nearest: null, final: true };
  }
  if (result.nearest) return { ...result, nearest: judged[0], final: true };
  if (judged.length === 0) return { ...result, final: true };
  // What was taken for good enough just misses: the surest of them stays, as the nearest.
  const surest = judged.reduce((a, b) => (leastOdds(b) > leastOdds(a) ? b : a));
  return { ...result, suggestions: [], obstacle: 'unsure', nearest: surest, final: true };
}
