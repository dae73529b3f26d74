import type { BurnPlace } from '../../core/raster/burn-clock.ts';
import type { PausePoint } from './burn-store.ts';

const minutes = (seconds: number): string => {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
};
const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

/** "Pass 1 of 2, 12:05 · 41:20 left". */
export function placeWords({ pass, passS, leftS }: BurnPlace, passes: number): string {
  const which = passes > 1 ? `Pass ${pass + 1} of ${passes}, ` : '';
  return `${which}${minutes(passS)} · ${leftS > 0 ? `${minutes(leftS)} left` : 'done'}`;
}

/** What a stop does, in a sentence or two. */
export function pauseWords({ minute, lengthMin, effect }: PausePoint): string {
  if (!effect) return 'Working it out…';
  const { colderK, reachMm, before, after, justAfter, withoutThere } = effect;
  const stop = `A stop of ${lengthMin} min after minute ${minute}`;
  if (colderK < 0.05)
    return `${stop} changes nothing: the rows before have given their heat away by then, or rows start cold anyway.`;
  const there = `the first rows after it start ${colderK.toFixed(1)} °C colder, over about ${reachMm.toFixed(0)} mm`;
  const change = justAfter - withoutThere;
  const local =
    change < 0.0005
      ? 'Their light areas come out the same.'
      : `In their light areas ${percent(justAfter)} stays uncleared instead of ${percent(withoutThere)}.`;
  const whole =
    Math.abs(after - before) < 0.0005
      ? `Over the whole picture it stays at ${percent(before)}.`
      : `Over the whole picture it goes from ${percent(before)} to ${percent(after)}.`;
  return `${stop}: ${there}. ${local} ${whole}`;
}
