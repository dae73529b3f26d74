import { XYZ_WEIGHTS } from '../color/spectrum.ts';
import type { Coat } from '../piece/schema.ts';
import { type CoatOptics, coatOptics } from './coat-optics.ts';
import { filmReflectance } from './kubelka-munk.ts';

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
