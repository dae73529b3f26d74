import { colorDifference, type Lab, linearRgbToLab } from '../../base/color/lab.ts';
import type { Wood } from '../../piece/schema.ts';

/**
 * Bark as the view draws it, linear rgb: two thirds plates (between the shader's PLATE and LICHEN), one third furrows (FURROW) in their
 * own shade. See shaders/rim.frag; estimate, common practice, no published source.
 */
const BARK_RGB = [0.167, 0.128, 0.092] as const;
/** A likely colour of bark. The view draws one bark round every wood, so each wood gets the same. */
export const BARK_LAB: Lab = linearRgbToLab(BARK_RGB);

export interface Kinship {
  /** CIEDE2000 from the coat to the bark and to the bare wood. */
  readonly toBark: number;
  readonly toWood: number;
  /** Why it will look unnatural beside them; null when it will not. */
  readonly concern: string | null;
}

// All of these are estimates: common practice, no published source.
/** Chroma below which a colour has no hue worth telling. */
const GREY_CHROMA = 4;
/** Chroma beyond that of bark and wood from which a top coat shouts beside them. */
const LOUDER_BY = 12;
/** Lightness below which it is a black hole. */
const BLACK_LIGHTNESS = 14;
/** Degrees by which its hue may leave the nearer one of bark's and wood's. */
const FAR_HUE = 50;
/** Lightness over the bark's from which darks look weak, unless the coat is near the wood's colour. */
const LIGHTER_BY = 10;
const NEAR_WOOD = 10;

const chromaOf = ([, a, b]: Lab): number => Math.hypot(a, b);
const hueOf = ([, a, b]: Lab): number => ((Math.atan2(b, a) * 180) / Math.PI + 360) % 360;
const hueApart = (one: number, other: number): number => Math.abs(((one - other + 540) % 360) - 180);

/** Whether a top coat belongs beside the bark and the bare wood of its slab. */
export function kinship(coat: Lab, wood: Wood): Kinship {
  const bark = BARK_LAB;
  const toBark = colorDifference(coat, bark);
  const toWood = colorDifference(coat, wood.colorLab);
  return { toBark, toWood, concern: concernOf(coat, bark, wood.colorLab, toWood) };
}

function concernOf(coat: Lab, bark: Lab, wood: Lab, toWood: number): string | null {
  const chroma = chromaOf(coat);
  if (chroma > Math.max(chromaOf(bark), chromaOf(wood)) + LOUDER_BY) {
    return 'Its colour is stronger than anything in bark or wood and will look painted on.';
  }
  const hue = hueOf(coat);
  // A grey wood has no hue to keep to.
  const kin = [bark, wood].filter((one) => chromaOf(one) > GREY_CHROMA).map(hueOf);
  if (chroma > GREY_CHROMA && kin.every((one) => hueApart(hue, one) > FAR_HUE)) {
    const [name, remedy] = hueWords(hue);
    return `It is ${name}, while bark and wood are brown: beside them it will look unnatural. A little more ${remedy} would help.`;
  }
  if (coat[0] < BLACK_LIGHTNESS) {
    return 'It is nearer to black than any bark; a dark brown looks more natural beside it.';
  }
  if (coat[0] > bark[0] + LIGHTER_BY && toWood > NEAR_WOOD) {
    return 'It is lighter than the bark: beside it the darks of the picture will look weak.';
  }
  return null;
}

/** Name of a hue that is no brown, and what leads back to brown. */
function hueWords(hue: number): readonly [string, string] {
  if (hue < 45 || hue >= 330) return ['reddish', 'yellow'];
  if (hue < 170) return ['greenish', 'red'];
  if (hue < 280) return ['bluish', 'red and yellow'];
  return ['purplish', 'yellow'];
}
