import { adjustedLightness } from '../../image/tone.ts';
import type { Tone } from '../../piece/schema.ts';
import type { ToneChart } from './tones.ts';

/** Change of L* from which a tone counts as another one. */
const SEEN_L = 1;

/** What is nearer an end of the range than this is no loss worth a line. */
const AT_END = 0.03;

/**
 * Which part of the range from dark to light does anything, as the picture is burned (0–1, after its tones): up to `opens` the coat stays
 * as it was, from `clear` on nothing gets lighter. Null where nothing of that end is lost.
 */
export function usedTones({ tones, passes }: ToneChart, tone: Tone): { opens: number | null; clear: number | null } {
  const { lightness } = passes[passes.length - 1];
  const burned = adjustedLightness(tone);
  const last = tones.length - 1;
  const crossing = (from: number, step: 1 | -1): number => {
    const off = (i: number) => Math.abs(lightness[i] - lightness[from]);
    for (let i = from + step; i >= 0 && i <= last; i += step) {
      if (off(i) < SEEN_L) continue;
      const share = (SEEN_L - off(i - step)) / (off(i) - off(i - step));
      return burned(tones[i - step] + share * (tones[i] - tones[i - step]));
    }
    return burned(tones[from]);
  };
  const [opens, clear] = [crossing(0, 1), crossing(last, -1)];
  const lost = Math.abs(lightness[last] - lightness[0]) >= SEEN_L;
  return { opens: lost && opens > AT_END ? opens : null, clear: lost && clear < 1 - AT_END ? clear : null };
}
