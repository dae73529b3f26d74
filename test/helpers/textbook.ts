import { MM_PER_INCH } from '../../src/base/units.ts';
import type { HeatedGround } from '../../src/physics/heat/heat-sources.ts';
import { pulseMarkDiameterMm } from '../../src/physics/material/layers.ts';

// Formulas of the literature that the product's own are held against.

/** Peak intensity of an elliptical Gaussian beam, `I0 = 2P / (π wx wy)`, W/mm². */
export function peakIntensity(powerW: number, radiusXMm: number, radiusYMm: number = radiusXMm): number {
  return (2 * powerW) / (Math.PI * radiusXMm * radiusYMm);
}

/** Spot diameter behind a lens, `d0 = 4 M² λ f / (π D)`, D the 1/e² diameter at the lens; mm. */
export function focusedDiameterMm(
  wavelengthNm: number,
  beamQuality: number,
  focalLengthMm: number,
  diameterAtLensMm: number,
): number {
  return (4 * beamQuality * wavelengthNm * 1e-6 * focalLengthMm) / (Math.PI * diameterAtLensMm);
}

/**
 * Dose of an endless raster of equal rows at a distance from a row's centre, J/mm², by the Poisson sum
 * `D(y) = P/(v p) · [1 + 2 Σ exp(−π² n² w² / (2p²)) cos(2π n y / p)]`.
 * What single crossings leave is not a function of this sum: use it for means and ripple only.
 */
export function rasterDose(
  powerW: number,
  feedMmPerS: number,
  rowPitchMm: number,
  acrossRadiusMm: number,
  distanceMm: number,
): number {
  const exponent = (Math.PI * acrossRadiusMm) / rowPitchMm;
  let sum = 1;
  for (let n = 1; n <= 64; n++) {
    const weight = 2 * Math.exp(-0.5 * exponent * exponent * n * n);
    if (weight < 1e-18) break;
    sum += weight * Math.cos((2 * Math.PI * n * distanceMm) / rowPitchMm);
  }
  return (powerW / (feedMmPerS * rowPitchMm)) * sum;
}

/** Instantaneous line source, `ΔT = Q' / (2π k t) · exp(−r² / (4κt))`, K. */
export function lineSourceRise(ground: HeatedGround, heatJPerMm: number, distanceMm: number, timeS: number): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  return (
    (heatJPerMm / (2 * Math.PI * conductivityWPerMmK * timeS)) *
    Math.exp(-(distanceMm * distanceMm) / (4 * diffusivityMm2PerS * timeS))
  );
}

/** When and how hot it gets at a fixed distance from a line source: `t* = r² / (4κ)`, `ΔT = 2Q' / (π e ρc r²)`. */
export function lineSourcePeak(
  ground: HeatedGround,
  heatJPerMm: number,
  distanceMm: number,
): { readonly timeS: number; readonly riseK: number } {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  const squared = distanceMm * distanceMm;
  return {
    timeS: squared / (4 * diffusivityMm2PerS),
    riseK: (2 * heatJPerMm * diffusivityMm2PerS) / (Math.PI * Math.E * conductivityWPerMmK * squared),
  };
}

/** Surface under a constant flux q'' [W/mm²], `ΔT = 2q''·√(t / (π k ρc))`, K. Wants a flux even over more than √(4κt). */
export function surfaceFluxRise(ground: HeatedGround, fluxWPerMm2: number, timeS: number): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  return (2 * fluxWPerMm2 * Math.sqrt((diffusivityMm2PerS * timeS) / Math.PI)) / conductivityWPerMmK;
}

/**
 * Rosenthal's moving point on a thick plate, seen from the point itself: `ΔT = Q / (2π k R) · exp(−v (ξ + R) / (2κ))`, K, with ξ ahead
 * [mm], R the distance [mm], v the feed [mm/s], Q the heat taken up [W].
 */
export function movingPointRise(
  ground: HeatedGround,
  powerW: number,
  feedMmPerS: number,
  aheadMm: number,
  asideMm: number,
): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  const distance = Math.hypot(aheadMm, asideMm);
  return (
    (powerW / (2 * Math.PI * conductivityWPerMmK * distance)) *
    Math.exp((-feedMmPerS * (aheadMm + distance)) / (2 * diffusivityMm2PerS))
  );
}

/** Reflectance of a film too thick to see through, `R∞ = 1 + K/S − √((K/S)² + 2K/S)`. */
export function opaqueReflectance(absorption: number, scattering: number): number {
  const ratio = absorption / scattering;
  return 1 + ratio - Math.sqrt(ratio * ratio + 2 * ratio);
}

/** Fresnel reflection at normal incidence, `((n2 − n1) / (n1 + n2))²`. */
export function normalFresnel(n1: number, n2: number): number {
  const ratio = (n2 - n1) / (n1 + n2);
  return ratio * ratio;
}

/** Depth of one pulse, µm; 0 below the threshold. Fluences in the same unit. */
export const pulseDepthUm = (depthPerPulseUm: number, fluence: number, threshold: number): number =>
  fluence > threshold ? depthPerPulseUm * Math.log(fluence / threshold) : 0;

/** Width of a burned line, `W² = 2 w² ln(Dpeak / Dth)`; mm, 0 below the threshold. */
export function lineMarkWidthMm(acrossRadiusMm: number, peakDose: number, thresholdDose: number): number {
  return pulseMarkDiameterMm(acrossRadiusMm, peakDose, thresholdDose);
}

/** Mean dose on a band burned by a beam of a given width, `H = P / (d v)`, J/mm² (Acta Fac. Xylologiae Zvolen 61(1), 2019, eq. 1). */
export function bandDose(powerW: number, bandWidthMm: number, feedMmPerS: number): number {
  return powerW / (bandWidthMm * feedMmPerS);
}

/** Row pitch in mm for so many rows per inch. */
export const rowsPerInchToPitchMm = (rowsPerInch: number): number => MM_PER_INCH / rowsPerInch;

/** 1 J/cm² is 0.01 J/mm². */
export const jPerCm2ToJPerMm2 = (jPerCm2: number): number => jPerCm2 / 100;
