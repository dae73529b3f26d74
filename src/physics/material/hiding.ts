import { colorDifference, type Lab, REFERENCE_WHITE, xyzToLab } from '../../base/color/lab.ts';
import { type Spectrum, spectrumToXyz, WHITE_XYZ, XYZ_WEIGHTS } from '../../base/color/spectrum.ts';
import type { Coat, Wood } from '../../piece/schema.ts';
import { KNOT_LIGHTNESS } from '../wood/grain.ts';
import { knotWood } from '../wood/wood-states.ts';
import { type CoatOptics, coatOptics, insideSpectrum } from './coat-optics.ts';
import { filmReflectance, measuredReflectance } from './kubelka-munk.ts';

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
export interface ShowThrough {
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
