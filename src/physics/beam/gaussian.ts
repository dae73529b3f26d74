import type { Pass, Source } from '../../piece/schema.ts';

/**
 * The focused beam. `radius` is always the 1/e² intensity radius.
 * Equations: textbook Gaussian optics (values from memory, cross-checked numerically); propagation ratio M² as in
 * ISO 11146-1. Checked in `test/reference/beam.test.ts`.
 */

/** Peak fluence of a pulse, `F0 = 2E / (π w²)`, J/mm². */
export function peakFluence(pulseJ: number, radiusMm: number): number {
  return (2 * pulseJ) / (Math.PI * radiusMm * radiusMm);
}

/** Rayleigh length `zR = π w0² / (M² λ)`, mm. */
export function rayleighLengthMm(waistMm: number, wavelengthNm: number, beamQuality: number): number {
  return (Math.PI * waistMm * waistMm) / (beamQuality * wavelengthNm * 1e-6);
}

/** Far-field half angle `θ = M² λ / (π w0)`, rad. */
export function halfAngleRad(waistMm: number, wavelengthNm: number, beamQuality: number): number {
  return (beamQuality * wavelengthNm * 1e-6) / (Math.PI * waistMm);
}

/** Radius at a distance from the focus, `w(z)² = w0² + (M² λ / (π w0))² z²`, mm. */
export function radiusAtMm(waistMm: number, wavelengthNm: number, beamQuality: number, offsetMm: number): number {
  return Math.hypot(waistMm, halfAngleRad(waistMm, wavelengthNm, beamQuality) * offsetMm);
}

/** Dose beside a line burned at constant speed, `D(y) = √(2/π) · P/(v w) · exp(−2y²/w²)`, J/mm². */
export function lineDose(powerW: number, feedMmPerS: number, acrossRadiusMm: number, distanceMm = 0): number {
  const ratio = distanceMm / acrossRadiusMm;
  return ((Math.sqrt(2 / Math.PI) * powerW) / (feedMmPerS * acrossRadiusMm)) * Math.exp(-2 * ratio * ratio);
}

/**
 * Radii across and along the rows when the rows are turned against the beam's own axes: the ellipse's standard deviations
 * projected on both directions. Exact for headings along the axes and for round beams; between, the small tilt of the
 * ellipse against the row is neglected.
 */
export function radiiForHeading(
  alongMm: number,
  acrossMm: number,
  headingRad: number,
): { alongMm: number; acrossMm: number } {
  const cosine = Math.cos(headingRad);
  const sine = Math.sin(headingRad);
  return {
    alongMm: Math.hypot(alongMm * cosine, acrossMm * sine),
    acrossMm: Math.hypot(alongMm * sine, acrossMm * cosine),
  };
}

/**
 * Watts that leave the source when so much of full power is set: nothing below the firing floor, then along the power curve
 * (linear between its points; straight when empty).
 */
export function outputPowerW(source: Source, setShare: number): number {
  if (setShare <= 0 || setShare < source.firingFloor) return 0;
  return source.fullPowerW * curveAt(source.powerCurve, setShare);
}

/** Share of full power that a pass sets at a level, 0–255, between its dark end and its light end. */
export const powerAt = (
  { darkEndPower, lightEndPower }: Pick<Pass, 'darkEndPower' | 'lightEndPower'>,
  level: number,
): number => darkEndPower + ((lightEndPower - darkEndPower) * level) / 255;

/** Watts that leave the source at a level of a pass. */
export const wattsAtLevel = (source: Source, pass: Pass, level: number): number =>
  outputPowerW(source, powerAt(pass, level));

function curveAt(curve: readonly (readonly [number, number])[], share: number): number {
  if (curve.length === 0) return share;
  const points = [[0, 0] as const, ...curve.filter(([x]) => x > 0), ...(curve.at(-1)![0] < 1 ? [[1, 1] as const] : [])];
  for (let i = 1; i < points.length; i++) {
    const [x1, y1] = points[i];
    if (share <= x1) {
      const [x0, y0] = points[i - 1];
      return x1 === x0 ? y1 : y0 + ((y1 - y0) * (share - x0)) / (x1 - x0);
    }
  }
  return points.at(-1)![1];
}

/** 1/e² radii of the spot on the work for one pass, mm: out of focus, turned with the rows. `heightMm`: the work's over the slab's middle. */
export function spotRadii(source: Source, pass: Pass, heightMm = 0): { alongMm: number; acrossMm: number } {
  const offsetMm = pass.focusOffsetMm - heightMm;
  const grow = (waistMm: number) => radiusAtMm(waistMm, source.wavelengthNm, source.beamQuality, offsetMm);
  return radiiForHeading(grow(source.spotAlongMm), grow(source.spotAcrossMm), pass.headingRad);
}
