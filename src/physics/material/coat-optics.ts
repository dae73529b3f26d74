import { type Lab, labToXyz, REFERENCE_WHITE } from '../../base/color/lab.ts';
import { type Spectrum, smoothestSpectrum, WHITE_XYZ } from '../../base/color/spectrum.ts';
import type { Coat } from '../../piece/schema.ts';

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

/**
 * Two-flux theory of paint films. Sources: J. A. S. Viggiano, "Numerical pathology in selected Kubelka–Munk formulas",
 * 2021, eqs. 2, 5, 7; E. Allen, "Colorant formulation and shading", 1980, eqs. 19–20, 24, 26; D. B. Judd, eq. 3.1.
 * Checked against the differential equation and printed values in `test/reference/appearance.test.ts`.
 */

/**
 * Reflectance of a film over a ground, `R = [1 − Rg(a − b coth bSX)] / [a − Rg + b coth bSX]`, a = 1 + K/S, b = √(a²−1).
 * K and S in 1/mm, thickness in mm, reflectances 0–1 inside the film (no surface reflection).
 * Limits are taken where the formula is 0/0: no absorption, no scattering, no film.
 */
export function filmReflectance(absorption: number, scattering: number, thicknessMm: number, ground: number): number {
  if (thicknessMm <= 0) return ground;
  if (scattering <= 0) return ground * Math.exp(-2 * absorption * thicknessMm);
  const power = scattering * thicknessMm;
  if (absorption <= 0) return ((1 - ground) * power + ground) / ((1 - ground) * power + 1);
  const a = 1 + absorption / scattering;
  const b = Math.sqrt(a * a - 1);
  const coth = 1 / Math.tanh(b * power);
  return (1 - ground * (a - b * coth)) / (a - ground + b * coth);
}

/** `K/S = (1 − R∞)² / (2 R∞)`. */
export function absorptionOverScattering(opaque: number): number {
  return ((1 - opaque) * (1 - opaque)) / (2 * opaque);
}

/** Mirror reflection at a film's surface for light from outside, Fresnel at normal incidence for n = 1.5. */
const OUTER_REFLECTION = 0.04;

/** Reflection at the surface for diffuse light from inside, n = 1.5; 0.6 in theory, 0.4–0.6 in practice. */
const INNER_REFLECTION = 0.6;

/** Saunderson's correction: what an instrument with the mirror reflection included reads, `k1 + (1−k1)(1−k2)R / (1−k2 R)`. */
export function measuredReflectance(inside: number, outer = OUTER_REFLECTION, inner = INNER_REFLECTION): number {
  return outer + ((1 - outer) * (1 - inner) * inside) / (1 - inner * inside);
}

/** Inverse of `measuredReflectance`; below the mirror reflection there is no answer and 0 is returned. */
export function insideReflectance(measured: number, outer = OUTER_REFLECTION, inner = INNER_REFLECTION): number {
  return Math.max(0, (measured - outer) / (1 - outer - inner + inner * measured));
}

/**
 * From a gloss meter's reading to the roughness of the microfacet model.
 *
 * A 60° gloss meter (ISO 2813) collects what a surface reflects into an aperture around the mirror direction and compares it with
 * polished black glass of index 1.567, which reads 100. This file computes that reading for a GGX surface of index 1.5,
 *
 *   GU = 100 · ∫_aperture f(l, v) cosθ_v dω / R_glass,   f = D(h) F(l·h) G(l, v) / (4 cosθ_l cosθ_v),
 *
 * with D and G of Walter, Marschner, Li, Torrance, "Microfacet models for refraction through rough surfaces", EGSR 2007, eq. 33
 * and 34, and inverts it by bisection. The idea of matching a reflection model to standard gloss readings is that of Westlund and
 * Meyer, "Applying appearance standards to light reflection models", SIGGRAPH 2001. Aperture 4.4° in the plane by 11.7° across, source
 * image 0.75° by 2.5° (values from memory of ISO 2813). Range: 0…89 GU for index 1.5; it is monotonic there.
 * Checked by test/unit/view-optics.test.ts.
 */
const DEG = Math.PI / 180;

const ANGLE = 60 * DEG;

const HALF_APERTURE = [2.2 * DEG, 5.85 * DEG] as const;

const HALF_SOURCE = [0.375 * DEG, 1.25 * DEG] as const;

const GLASS_INDEX = 1.567;

const COAT_INDEX = 1.5;

/** Fresnel reflectance of unpolarised light on a dielectric. */
export function fresnel(cosine: number, index: number): number {
  const g = Math.sqrt(index * index - 1 + cosine * cosine);
  const a = (g - cosine) / (g + cosine);
  const b = (cosine * (g + cosine) - 1) / (cosine * (g - cosine) + 1);
  return 0.5 * a * a * (1 + b * b);
}

const smith = (cosine: number, alpha: number): number =>
  2 / (1 + Math.sqrt(1 + alpha * alpha * (1 / (cosine * cosine) - 1)));

type Vector = readonly [number, number, number];

/** Direction tilted from the meter's plane: `inPlane` from the normal, `across` out of the plane. */
function direction(inPlane: number, across: number): Vector {
  return [Math.sin(inPlane) * Math.cos(across), Math.sin(across), Math.cos(inPlane) * Math.cos(across)];
}

function reflectance(light: Vector, view: Vector, alpha: number): number {
  const half: Vector = [light[0] + view[0], light[1] + view[1], light[2] + view[2]];
  const length = Math.hypot(half[0], half[1], half[2]);
  const cosHalf = half[2] / length;
  const lightHalf = (light[0] * half[0] + light[1] * half[1] + light[2] * half[2]) / length;
  const spread = cosHalf * cosHalf * (alpha * alpha - 1) + 1;
  const density = (alpha * alpha) / (Math.PI * spread * spread);
  const shadowing = smith(light[2], alpha) * smith(view[2], alpha);
  return (density * fresnel(lightHalf, COAT_INDEX) * shadowing) / (4 * light[2] * view[2]);
}

/** Gloss units at 60° of a GGX surface of index 1.5 with roughness `alpha` (0…1). */
export function gloss60OfAlpha(alpha: number): number {
  const steps = 24;
  const sources = 3;
  let collected = 0;
  for (let si = 0; si < sources; si++) {
    for (let sj = 0; sj < sources; sj++) {
      const light = direction(
        -ANGLE + HALF_SOURCE[0] * ((2 * si + 1) / sources - 1),
        HALF_SOURCE[1] * ((2 * sj + 1) / sources - 1),
      );
      for (let i = 0; i < steps; i++) {
        for (let j = 0; j < steps; j++) {
          const across = HALF_APERTURE[1] * ((2 * j + 1) / steps - 1);
          const view = direction(ANGLE + HALF_APERTURE[0] * ((2 * i + 1) / steps - 1), across);
          collected += reflectance(light, view, alpha) * view[2] * Math.cos(across);
        }
      }
    }
  }
  const cell = ((2 * HALF_APERTURE[0]) / steps) * ((2 * HALF_APERTURE[1]) / steps);
  return (100 * collected * cell) / (sources * sources) / fresnel(Math.cos(ANGLE), GLASS_INDEX);
}

const SMOOTHEST = 0.02;

const ROUGHEST = 1;

/** GGX roughness (alpha) of a coat from its 60° gloss in GU; clamped to 0.02…1. NaN counts as fully matte. */
export function alphaOfGloss60(gloss60: number): number {
  if (!(gloss60 > gloss60OfAlpha(ROUGHEST))) return ROUGHEST;
  if (gloss60 >= gloss60OfAlpha(SMOOTHEST)) return SMOOTHEST;
  let low = SMOOTHEST;
  let high = ROUGHEST;
  for (let i = 0; i < 24; i++) {
    const middle = Math.sqrt(low * high);
    if (gloss60OfAlpha(middle) > gloss60) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}
