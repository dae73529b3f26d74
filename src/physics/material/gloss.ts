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
