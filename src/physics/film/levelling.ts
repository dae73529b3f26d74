import { umToMm } from '../../base/units.ts';

/**
 * How fast ripples in a wet film flow flat under surface tension: a wave of the surface shrinks as `a(t) = a0·exp(−t/τ)`,
 * `τ = 3·η·λ⁴ / (16·π⁴·σ·h³)`. For a film thin against the wave (2πh/λ ≪ 1), Newtonian paint, a flat ground and no drying;
 * real paint thickens while it levels, so this is the quickest it can be. Sources: S. E. Orchard 1962 (value from memory); the
 * same with λ/2π in S. Abbott, Practical Coatings, "Levelling". Checked in `test/reference/paint-build.test.ts`.
 */
export interface WetFilm {
  /** Viscosity η at rest, Pa·s. */
  readonly viscosityPaS: number;
  /** Length λ of the wave, mm. */
  readonly wavelengthMm: number;
  /** Surface tension σ, N/m. */
  readonly tensionNPerM: number;
  /** Mean wet thickness h, µm. */
  readonly wetUm: number;
}

/** λ⁴/h³ is a length: in mm it is a thousand times what the other units, in metres, ask for. */
const M_PER_MM = 1e-3;

/**
 * Time τ in s in which a wave falls to 1/e of its height.
 * @throws RangeError if a value is not above 0.
 */
export function levellingTimeS({ viscosityPaS, wavelengthMm, tensionNPerM, wetUm }: WetFilm): number {
  for (const [name, value] of Object.entries({ viscosityPaS, wavelengthMm, tensionNPerM, wetUm })) {
    if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`${name} must be a number > 0, got ${value}`);
  }
  const lengthM = (M_PER_MM * wavelengthMm ** 4) / umToMm(wetUm) ** 3;
  return (3 * viscosityPaS * lengthM) / (16 * Math.PI ** 4 * tensionNPerM);
}

/**
 * Share of a wave's height that is left after the time the paint stays open, `exp(−t/τ)`: 1 nothing levelled, 0 flat.
 * @throws RangeError for a negative or endless open time, or a levelling time that is not above 0.
 */
export function unlevelledShare(openTimeS: number, levellingTimeS: number): number {
  if (!(openTimeS >= 0 && Number.isFinite(openTimeS))) throw new RangeError(`open time ${openTimeS} s is not ≥ 0`);
  if (!(levellingTimeS > 0)) throw new RangeError(`levelling time ${levellingTimeS} s is not > 0`);
  return Math.exp(-openTimeS / levellingTimeS);
}
