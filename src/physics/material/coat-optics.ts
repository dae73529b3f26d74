import { type Lab, labToXyz, REFERENCE_WHITE } from '../../base/color/lab.ts';
import { type Spectrum, smoothestSpectrum, WHITE_XYZ } from '../../base/color/spectrum.ts';
import type { Coat } from '../../piece/schema.ts';
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

/** Spectra found last: a table of another film asks for the same wood in all its stages of char again. */
const found = new Map<string, Spectrum>();
const MOST_FOUND = 1024;

/**
 * Reflectance inside the film of a surface of a given colour, per band; kept off 0 and 1, where K/S has no value. Not to be written to: it is
 * kept.
 */
export function insideSpectrum(lab: Lab): Spectrum {
  const key = lab.join(' ');
  const known = found.get(key);
  if (known) return known;
  const spectrum = labToSpectrum(lab).map((value) => Math.min(0.999, Math.max(0.002, insideReflectance(value))));
  if (found.size >= MOST_FOUND) found.clear();
  found.set(key, spectrum);
  return spectrum;
}

/** K and S of a coat from its colour where it hides, and its scattering. @throws RangeError for a colour no surface has. */
export function coatOptics(coat: Pick<Coat, 'colorLab' | 'scatteringPerMm'>): CoatOptics {
  const opaque = insideSpectrum(coat.colorLab);
  return {
    scattering: coat.scatteringPerMm,
    absorption: opaque.map((value) => absorptionOverScattering(value) * coat.scatteringPerMm),
  };
}
