import { BAND_COUNT, BAND_START_NM, BAND_STEP_NM } from '../../base/color/cie-1931.ts';
import type { Spectrum } from '../../base/color/spectrum.ts';

/**
 * What is left of a burned film when the air does not sweep it off. Gas-assisted removal of paint "usually leaves ashes" and a
 * brittle ash shields the coating unless a strong parallel stream sweeps it (Procedia Eng. 64, 467, 2013; the same found for white
 * chlorinated rubber under a CO2 laser); no numbers are published: shares are estimates, calibrate.
 */
const LEFT_SHARE = 0.06;
/** Specific energy in still air over that in a strong stream. */
const SHIELDING = 0.25;

/** Thickness of ash over a place where so much was removed, µm. */
export const ashUm = (removedUm: number, airFlow: number): number => LEFT_SHARE * (1 - airFlow) * removedUm;

/** Factor on specific energies: ash and smoke take a part of the light. */
export const shieldingFactor = (airFlow: number): number => 1 + SHIELDING * (1 - airFlow);

/** Absorption and scattering of ash, 1/mm: a warm dark grey (estimate). */
export const ASH_SCATTERING = 30;
export const ASH_ABSORPTION: Spectrum = Float64Array.from(
  { length: BAND_COUNT },
  (_, i) => 70 * ((BAND_START_NM + i * BAND_STEP_NM) / 550) ** -1.2,
);
