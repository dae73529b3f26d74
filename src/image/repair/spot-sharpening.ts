import type { Tone } from '../../piece/schema.ts';

interface SpotSharpening {
  /** For `applyUnsharpMask`. */
  readonly settings: Tone['unsharpMask'];
  /** Contrast that the beam passes at half the rows' Nyquist frequency, 0–1, without and with the sharpening. */
  readonly passed: number;
  readonly combined: number;
}

/** More than this only draws halos. */
const MOST = 3;

/**
 * Contrast of a sine that a Gaussian beam passes: MTF(f) = exp(−π² w² f² / 2), w the 1/e² radius, f in 1/mm; the Fourier transform
 * of exp(−2 r² / w²) over its value at 0. @returns 0–1.
 */
export function spotTransfer(spotRadiusMm: number, perMm: number): number {
  return Math.exp(-0.5 * (Math.PI * spotRadiusMm * perMm) ** 2);
}

/**
 * Unsharp mask that makes up for the beam's own blur. Its radius is the beam's σ = w / 2, but at least half a row, below which an
 * unsharp mask on dots does nothing. With amount A the two together pass MTF · (1 + A (1 − G)), G what the mask's own blur passes;
 * that is 1 at half the rows' Nyquist frequency, f = 1 / (4 pitch), for A = (1 / MTF − 1) / (1 − G). Held at 3: a beam
 * wide enough to want more has lost the detail. The burn answers with a threshold on top of this linear picture of it.
 * Source: the transform of a Gaussian (textbook). Test: test/unit/repair-spot.test.ts, by sharpening and blurring sines.
 * @param spotRadiusMm 1/e² radius, > 0. @param pitchMm row pitch, > 0.
 * @throws RangeError if either is not positive.
 */
export function sharpenForSpot(spotRadiusMm: number, pitchMm: number): SpotSharpening {
  if (!(spotRadiusMm > 0 && pitchMm > 0)) {
    throw new RangeError(`sharpening needs a spot radius and a pitch, got ${spotRadiusMm} and ${pitchMm} mm`);
  }
  const passed = spotTransfer(spotRadiusMm, 1 / (4 * pitchMm));
  const radiusMm = Math.max(spotRadiusMm, pitchMm) / 2;
  const ownBlur = quarterTransfer(radiusMm / pitchMm);
  const amount = Math.min(MOST, (1 / passed - 1) / (1 - ownBlur));
  return {
    settings: { radiusMm, amount, threshold: 0 },
    passed,
    combined: passed * (1 + amount * (1 - ownBlur)),
  };
}

/** What a Gaussian sampled at the dots, as `blurGaussian` has it, passes of a sine of four dots: its cosine is 1, 0, −1, 0. */
function quarterTransfer(sigmaDots: number): number {
  let sum = 1;
  let passed = 1;
  for (let dot = 1; dot <= Math.ceil(4 * sigmaDots); dot++) {
    const weight = 2 * Math.exp((-dot * dot) / (2 * sigmaDots * sigmaDots));
    sum += weight;
    if (dot % 2 === 0) passed += dot % 4 === 0 ? weight : -weight;
  }
  return passed / sum;
}
