import { labToXyz, REFERENCE_WHITE } from '../color/lab.ts';
import { type Spectrum, smoothestSpectrum, WHITE_XYZ } from '../color/spectrum.ts';
import type { Coat, Lab } from '../piece/schema.ts';
import { absorptionOverScattering, insideReflectance } from './kubelka-munk.ts';

/** Spectral absorption and scattering of a coat, 1/mm. */
export interface CoatOptics {
  readonly scattering: number;
  readonly absorption: Spectrum;
}

/** Luminance up to which a colour is taken as it is. */
const BRIGHTEST = 0.998;

function labToSpectrum(lab: Lab): Spectrum {
  const xyz = labToXyz(lab);
  // The spectral tables' own white, so that a neutral stays neutral.
  // A perfect white is held just below: no paint is one, and its spectrum has no slope left to be found by.
  const held = Math.min(1, BRIGHTEST / xyz[1]);
  const scaled = xyz.map((value, i) => (held * value * WHITE_XYZ[i]) / REFERENCE_WHITE[i]);
  return smoothestSpectrum([Math.max(scaled[0], 1e-4), Math.max(scaled[1], 1e-4), Math.max(scaled[2], 1e-4)]);
}

/** Reflectance inside the film of a surface of a given colour, per band; kept off 0 and 1, where K/S has no value. */
export function insideSpectrum(lab: Lab): Spectrum {
  return labToSpectrum(lab).map((value) => Math.min(0.999, Math.max(0.002, insideReflectance(value))));
}

/** K and S of a coat from its colour where it hides, and its scattering. @throws RangeError for a colour no surface has. */
export function coatOptics(coat: Pick<Coat, 'colorLab' | 'scatteringPerMm'>): CoatOptics {
  const opaque = insideSpectrum(coat.colorLab);
  return {
    scattering: coat.scatteringPerMm,
    absorption: opaque.map((value) => absorptionOverScattering(value) * coat.scatteringPerMm),
  };
}
