import { colorDifference, labToLinearRgb, linearRgbToLab } from '../color/lab.ts';
import type { Lab, Wood } from '../piece/schema.ts';

/** Share of the wood's light that weathered bark throws back, linear rgb (estimate; dark, a little warm). */
const BARK_SHARE = [0.17, 0.14, 0.115] as const;

/** A likely colour of the bark round a wood. */
export function barkLab(wood: Wood): Lab {
  const [r, g, b] = labToLinearRgb(wood.colorLab);
  return linearRgbToLab([r * BARK_SHARE[0], g * BARK_SHARE[1], b * BARK_SHARE[2]]);
}

export interface Kinship {
  /** CIEDE2000 from the coat to the bark and to the bare wood. */
  readonly toBark: number;
  readonly toWood: number;
  /** Why it will look unnatural beside them; null when it will not. */
  readonly concern: string | null;
}

/** Chroma below which a colour has no hue worth telling. */
const GREY_CHROMA = 4;
/** Chroma beyond which a top coat shouts beside wood, and lightness below which it is a black hole (common practice, no published source). */
const LOUD_CHROMA = 32;
const BLACK_LIGHTNESS = 14;
/** Hue angles in degrees that wood and bark have, with some room (estimate: reds through yellows). */
const WARM_HUES = [15, 105] as const;

const hueOf = ([, a, b]: Lab): number => ((Math.atan2(b, a) * 180) / Math.PI + 360) % 360;

/** Whether a top coat belongs beside the bark and the bare wood of its slab. */
export function kinship(coat: Lab, wood: Wood): Kinship {
  const toBark = colorDifference(coat, barkLab(wood));
  const toWood = colorDifference(coat, wood.colorLab);
  const chroma = Math.hypot(coat[1], coat[2]);
  const hue = hueOf(coat);
  const warm = hue >= WARM_HUES[0] && hue <= WARM_HUES[1];
  const concern =
    chroma > LOUD_CHROMA
      ? 'Its colour is stronger than anything in bark or wood and will look painted on.'
      : chroma > GREY_CHROMA && !warm
        ? `It is ${hueName(hue)}, while bark and wood are brown: beside them it will look unnatural. A little more red and yellow would help.`
        : coat[0] < BLACK_LIGHTNESS
          ? 'It is nearer to black than any bark; a dark brown looks more natural beside it.'
          : null;
  return { toBark, toWood, concern };
}

function hueName(hue: number): string {
  if (hue < 15 || hue >= 330) return 'reddish';
  if (hue < 170) return 'greenish';
  if (hue < 280) return 'bluish';
  return 'purplish';
}

/** What a colour difference means side by side, in words (thresholds: common reading of ΔE00, value from memory). */
export function differenceWords(deltaE: number): string {
  if (deltaE < 1) return 'nobody sees a difference';
  if (deltaE < 2) return 'seen only side by side';
  if (deltaE < 4) return 'seen at a second look';
  return deltaE < 8 ? 'plainly another tint' : 'another colour';
}
