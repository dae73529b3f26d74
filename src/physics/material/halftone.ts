/**
 * Reflectance of dots too small to see. Sources: A. Murray 1936; J. A. C. Yule & W. J. Nielsen 1951; n = 1.7 in the absence
 * of data after M. Pearson, TAGA 1981. Checked against printed values in `test/reference/appearance.test.ts`.
 */

/** Murray–Davies (n = 1) or Yule–Nielsen (n > 1): `R = [a·Rs^(1/n) + (1−a)·Rp^(1/n)]^n`. */
export function dottedReflectance(dotShare: number, dot: number, ground: number, yuleNielsen = 1): number {
  const exponent = 1 / yuleNielsen;
  return (dotShare * dot ** exponent + (1 - dotShare) * ground ** exponent) ** yuleNielsen;
}

/** Apparent dot share by Murray–Davies from densities over the ground: `a = (1 − 10^−Dt) / (1 − 10^−Ds)`. */
export function dotShareFromDensity(tintDensity: number, solidDensity: number): number {
  return (1 - 10 ** -tintDensity) / (1 - 10 ** -solidDensity);
}

/** Reflection density, `D = −log10 R`. */
export const density = (reflectance: number): number => -Math.log10(reflectance);
