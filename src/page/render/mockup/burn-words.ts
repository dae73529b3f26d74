import { pauseSentences } from '../../../outputs/program/pause-sentences.ts';
import type { BurnPlace } from '../../../physics/raster/burn-clock.ts';
import type { PausePoint } from './burn-store.ts';

const minutes = (seconds: number): string => {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
};

/** "Pass 1 of 2, 12:05 · 41:20 left". */
export function placeWords({ pass, passS, leftS }: BurnPlace, passes: number): string {
  const which = passes > 1 ? `Pass ${pass + 1} of ${passes}, ` : '';
  return `${which}${minutes(passS)} · ${leftS > 0 ? `${minutes(leftS)} left` : 'done'}`;
}

/** What a stop does, in a sentence or two. */
export function pauseWords({ minute, lengthMin, effect }: PausePoint): string {
  if (!effect) return 'Working it out…';
  return pauseSentences(`A stop of ${lengthMin} min after minute ${minute}`, effect);
}
