import { colorDifference, type Lab, linearRgbToLab, REFERENCE_WHITE, xyzToLab } from '../../base/color/lab.ts';
import { type Spectrum, spectrumToXyz, WHITE_XYZ, XYZ_WEIGHTS } from '../../base/color/spectrum.ts';
import type { Coat, Wood } from '../../piece/schema.ts';
import { KNOT_LIGHTNESS, knotWood } from '../wood/grain.ts';
import { type CoatOptics, coatOptics, filmReflectance, insideSpectrum, measuredReflectance } from './coat-optics.ts';

/** Contrast ratio from which a coat counts as hiding (ISO 6504; ASTM D2805). */
export const HIDING_CONTRAST = 0.98;

/** Reflectance of the white ground that the ratio is taken over. */
const WHITE_GROUND = 0.8;

/**
 * Contrast ratio of a coat at a dry thickness: luminous reflectance over black divided by that over white (0.80), by Kubelka–Munk
 * inside the film. 0 … 1. Checked in test/reference/appearance.test.ts and test/unit/hiding.test.ts.
 */
export function contrastRatio(coat: Pick<Coat, 'colorLab' | 'scatteringPerMm'>, dryUm: number): number {
  return ratioOf(coatOptics(coat), dryUm);
}

function ratioOf({ absorption, scattering }: CoatOptics, dryUm: number): number {
  let overBlack = 0;
  let overWhite = 0;
  for (let i = 0; i < absorption.length; i++) {
    const weight = XYZ_WEIGHTS[1][i];
    overBlack += weight * filmReflectance(absorption[i], scattering, dryUm / 1000, 0);
    overWhite += weight * filmReflectance(absorption[i], scattering, dryUm / 1000, WHITE_GROUND);
  }
  return overWhite > 0 ? overBlack / overWhite : 1;
}

/** Layers of the coat's present thickness that it takes to hide; null if not even fifty do. */
export function layersToHide(coat: Coat): number | null {
  const optics = coatOptics(coat);
  const layerUm = coat.dryThicknessUm / coat.layers;
  for (let layers = 1; layers <= 50; layers++) {
    if (ratioOf(optics, layers * layerUm) >= HIDING_CONTRAST) return layers;
  }
  return null;
}

type Covering = Pick<Coat, 'colorLab' | 'scatteringPerMm' | 'dryThicknessUm'>;

/** What of the wood shows through coats: differences (CIEDE2000) from the same coats over clear wood. */
interface ShowThrough {
  readonly knot: number;
  /** The dark late part of a growth ring. */
  readonly rings: number;
}

/**
 * How far coats, topmost first, differ in colour over a knot and over latewood from what they are over clear wood. Kubelka–Munk film
 * over film, Saunderson; mirror reflection included. Latewood lies as far towards the knot's colour as the burn has it
 * (`wood/grain.ts`).
 */
export function showThrough(coats: readonly Covering[], wood: Wood): ShowThrough {
  const optics = coats.map((coat) => ({ ...coatOptics(coat), dryUm: coat.dryThicknessUm }));
  const seenOver = (ground: Lab): Lab =>
    measuredLab(
      optics.reduceRight(
        (under, { absorption, scattering, dryUm }) =>
          under.map((value, i) => filmReflectance(absorption[i], scattering, dryUm / 1000, value)),
        insideSpectrum(ground),
      ),
    );
  const clear = wood.colorLab;
  const knot = knotWood(wood).colorLab;
  const towardsKnot = Math.min(1, wood.ringLightness / KNOT_LIGHTNESS);
  const late = clear.map((value, i) => value + towardsKnot * (knot[i] - value)) as Lab;
  const seen = seenOver(clear);
  return { knot: colorDifference(seen, seenOver(knot)), rings: colorDifference(seen, seenOver(late)) };
}

function measuredLab(inside: Spectrum): Lab {
  const [x, y, z] = spectrumToXyz(inside.map((value) => measuredReflectance(value))).map(
    (value, i) => (value * REFERENCE_WHITE[i]) / WHITE_XYZ[i],
  );
  return xyzToLab([x, y, z]);
}

/**
 * A colour difference side by side on one surface, in words: below 1 unseen, below 3 for who looks closely, beyond 6 at a glance
 * (common practice, no published source).
 */
export function showingInWords(deltaE: number): string {
  if (deltaE < 1) return 'will not show';
  if (deltaE < 3) return 'will show through faintly';
  return deltaE < 6 ? 'will show through' : 'will show through plainly';
}

/**
 * Bark as the view draws it, linear rgb: two thirds plates (between the shader's PLATE and LICHEN), one third furrows (FURROW) in their
 * own shade. See shaders/rim.frag; estimate, common practice, no published source.
 */
const BARK_RGB = [0.167, 0.128, 0.092] as const;

/** A likely colour of bark. The view draws one bark round every wood, so each wood gets the same. */
export const BARK_LAB: Lab = linearRgbToLab(BARK_RGB);

interface Kinship {
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
