import type { PauseEffect } from './pause-effect.ts';

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

/** What a stop does to the rows after it, in a few sentences that go on from its name. */
export function pauseSentences(
  stop: string,
  { colderK, reachMm, before, after, justAfter, withoutThere }: PauseEffect,
): string {
  if (colderK < 0.05)
    return `${stop} changes nothing: the rows before have given their heat away by then, or rows start cold anyway.`;
  const there = `the first rows after it start ${colderK.toFixed(1)} °C colder, over about ${reachMm.toFixed(0)} mm`;
  const local =
    justAfter - withoutThere < 0.0005
      ? 'Their light areas come out the same.'
      : `In their light areas ${percent(justAfter)} is left dark instead of ${percent(withoutThere)}.`;
  const whole =
    Math.abs(after - before) < 0.0005
      ? `Over the whole picture it stays at ${percent(before)}.`
      : `Over the whole picture it goes from ${percent(before)} to ${percent(after)}.`;
  return `${stop}: ${there}. ${local} ${whole}`;
}
