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

/** Reflectance of a film too thick to see through, `R∞ = 1 + K/S − √((K/S)² + 2K/S)`. */
export function opaqueReflectance(absorption: number, scattering: number): number {
  const ratio = absorption / scattering;
  return 1 + ratio - Math.sqrt(ratio * ratio + 2 * ratio);
}

/** `K/S = (1 − R∞)² / (2 R∞)`. */
export function absorptionOverScattering(opaque: number): number {
  return ((1 - opaque) * (1 - opaque)) / (2 * opaque);
}

/** Mirror reflection at a film's surface for light from outside, Fresnel at normal incidence for n = 1.5. */
export const OUTER_REFLECTION = 0.04;
/** Reflection at the surface for diffuse light from inside, n = 1.5; 0.6 in theory, 0.4–0.6 in practice. */
export const INNER_REFLECTION = 0.6;

/** Saunderson's correction: what an instrument with the mirror reflection included reads, `k1 + (1−k1)(1−k2)R / (1−k2 R)`. */
export function measuredReflectance(inside: number, outer = OUTER_REFLECTION, inner = INNER_REFLECTION): number {
  return outer + ((1 - outer) * (1 - inner) * inside) / (1 - inner * inside);
}

/** Inverse of `measuredReflectance`; below the mirror reflection there is no answer and 0 is returned. */
export function insideReflectance(measured: number, outer = OUTER_REFLECTION, inner = INNER_REFLECTION): number {
  return Math.max(0, (measured - outer) / (1 - outer - inner + inner * measured));
}

/** Fresnel reflection at normal incidence, `((n2 − n1) / (n1 + n2))²`. */
export function normalFresnel(n1: number, n2: number): number {
  const ratio = (n2 - n1) / (n1 + n2);
  return ratio * ratio;
}
