/** What an eye of the standard observer of P. G. J. Barten's model works with; the names are his symbols' meanings. */
export interface EyeOptions {
  /** Luminance of what is looked at, cd/m², and pupil diameter, mm. */
  readonly luminanceCdPerM2: number;
  readonly pupilMm: number;
  /** Signal-to-noise ratio k, integration time T (s), field X₀ and largest integration area X_max (°), cycles N_max. */
  readonly signalToNoise: number;
  readonly integrationS: number;
  readonly fieldDeg: number;
  readonly maxAreaDeg: number;
  readonly maxCycles: number;
  /** Quantum efficiency η, photon conversion p, neural noise Φ₀ (s·deg²), lateral inhibition below u₀ (cycles/deg). */
  readonly quantumEfficiency: number;
  readonly photonConversion: number;
  readonly neuralNoise: number;
  readonly inhibitionPerDeg: number;
}

export const EYE_DEFAULTS: EyeOptions = {
  luminanceCdPerM2: 20,
  pupilMm: 2.1,
  signalToNoise: 3,
  integrationS: 0.1,
  fieldDeg: 60,
  maxAreaDeg: 12,
  maxCycles: 15,
  quantumEfficiency: 0.03,
  photonConversion: 1.2274e6,
  neuralNoise: 3e-8,
  inhibitionPerDeg: 7,
};

/** `M_opt(u) = exp(−2π²σ²u²)` for a line spread σ in degrees and u in cycles/deg. */
export const opticalTransfer = (perDeg: number, sigmaDeg: number): number =>
  Math.exp(-2 * Math.PI ** 2 * sigmaDeg ** 2 * perDeg ** 2);

/** `d = 5 − 3 tanh(0.4 log₁₀(L X₀² / 40²))`, mm, for a square field of X₀ degrees. */
export const pupilDiameterMm = (luminanceCdPerM2: number, fieldDeg: number): number =>
  5 - 3 * Math.tanh(0.4 * Math.log10((luminanceCdPerM2 * fieldDeg ** 2) / 40 ** 2));

/** `σ = √(σ₀² + (C_ab d)²)`, degrees. */
export const lineSpreadDeg = (baseDeg: number, perPupilMmDeg: number, pupilMm: number): number =>
  Math.hypot(baseDeg, perPupilMmDeg * pupilMm);

/** Retinal illuminance with the Stiles–Crawford effect, `E = (π d²/4) L [1 − (d/9.7)² + (d/12.4)⁴]`, trolands. */
export const retinalIlluminance = (luminanceCdPerM2: number, pupilMm: number): number =>
  ((Math.PI * pupilMm ** 2) / 4) * luminanceCdPerM2 * (1 - (pupilMm / 9.7) ** 2 + (pupilMm / 12.4) ** 4);

/** Side of the area over which the eye integrates, degrees: `1/X² = 1/X₀² + 1/X_max² + u²/N_max²`. */
export const integrationSideDeg = (perDeg: number, fieldDeg: number, maxDeg: number, maxCycles: number): number =>
  1 / Math.sqrt(1 / fieldDeg ** 2 + 1 / maxDeg ** 2 + perDeg ** 2 / maxCycles ** 2);

/**
 * Contrast sensitivity of the eye at so many cycles per degree (> 0):
 * `S = (M_opt/k) / √( (2/T)(1/X²)(1/(η p E) + Φ₀/(1 − e^{−(u/u₀)²})) )`.
 * Source: P. G. J. Barten, Contrast Sensitivity of the Human Eye and Its Effects on Image Quality, SPIE 1999; values of the test are those
 * published with the function of the Python package colour-science. Test: test/reference/contrast-sensitivity.test.ts.
 */
export function contrastSensitivity(perDeg: number, eye: EyeOptions = EYE_DEFAULTS): number {
  const sigma = lineSpreadDeg(0.5 / 60, 0.08 / 60, eye.pupilMm);
  const side = integrationSideDeg(perDeg, eye.fieldDeg, eye.maxAreaDeg, eye.maxCycles);
  const illuminance = retinalIlluminance(eye.luminanceCdPerM2, eye.pupilMm);
  const photon = 1 / (eye.quantumEfficiency * eye.photonConversion * illuminance);
  const neural = eye.neuralNoise / (1 - Math.exp(-((perDeg / eye.inhibitionPerDeg) ** 2)));
  return (
    opticalTransfer(perDeg, sigma) /
    eye.signalToNoise /
    Math.sqrt((2 / eye.integrationS) * (1 / side ** 2) * (photon + neural))
  );
}

/** Cycles per degree of what has so many cycles per mm, seen from a distance: `f · 2 D tan(½°)`. */
export const cyclesPerDeg = (cyclesPerMm: number, distanceMm: number): number =>
  cyclesPerMm * 2 * distanceMm * Math.tan(Math.PI / 360);

let peak = 0;
/** Sensitivity over its highest value, 0–1. */
export function relativeSensitivity(perDeg: number): number {
  if (!(perDeg > 0)) return 0;
  if (peak === 0) for (let u = 0.5; u < 8; u += 0.01) peak = Math.max(peak, contrastSensitivity(u));
  return Math.min(1, contrastSensitivity(perDeg) / peak);
}
