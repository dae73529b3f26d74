import { blurGaussian } from '../gaussian-blur.ts';

export interface DetailLost {
  /** Share of the picture's fine contrast that the beam blurs away, 0–1; 0 for a picture without any. */
  readonly share: number;
  /** Lightness that each dot loses, 0–1: where to look. */
  readonly lost: Float32Array;
}

/** Fine is what a Gaussian blur of so many rows takes away: sines of fewer than about eight rows. */
const FINE_ROWS = 2;

/**
 * What of the picture is finer than the beam. The fine part F is the picture less itself blurred over two rows; the beam blurs F
 * with σ = w / 2 to B; lost is |F − B|, and the share 1 − Σ F B / Σ F², the mean of 1 − MTF(f) over the fine part's spectrum: of a
 * single sine just 1 − MTF (`spotTransfer`). On lightness, as if the coat answered it evenly.
 * Source: Parseval's theorem on the beam's transfer function. Test: test/unit/repair-spot.test.ts.
 * @param plane lightness 0–1 at the row pitch, row-major. @param spotRadiusMm 1/e² radius, ≥ 0. @param pitchMm > 0.
 * @throws RangeError if the pitch is not positive or the radius negative.
 */
export function detailLost(
  plane: Float32Array,
  width: number,
  height: number,
  spotRadiusMm: number,
  pitchMm: number,
): DetailLost {
  if (!(spotRadiusMm >= 0 && pitchMm > 0)) {
    throw new RangeError(`detail needs a spot radius and a pitch, got ${spotRadiusMm} and ${pitchMm} mm`);
  }
  const fine = blurGaussian(plane, width, height, FINE_ROWS);
  for (let i = 0; i < fine.length; i++) fine[i] = plane[i] - fine[i];
  const lost = blurGaussian(fine, width, height, spotRadiusMm / 2 / pitchMm);
  let kept = 0;
  let all = 0;
  for (let i = 0; i < fine.length; i++) {
    kept += fine[i] * lost[i];
    all += fine[i] * fine[i];
    lost[i] = Math.abs(fine[i] - lost[i]);
  }
  // Rounding alone leaves contrasts of 1e-7 a dot.
  return { share: all > 1e-12 * fine.length ? Math.min(1, Math.max(0, 1 - kept / all)) : 0, lost };
}
