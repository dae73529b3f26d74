import type { Stack, Wood } from '../../piece/schema.ts';
import { shieldingFactor } from './ash.ts';
import type { PulsedCrossing } from './pulses.ts';

/** Thermal time constants of the threshold's scaling; acrylic paint: κ measured 1–3e-7 m²/s (Coelho et al., J. Phys. IV 125, 2005), 1/α estimated. */
const DIFFUSIVITY_MM2_PER_S = 0.11;
const OPTICAL_DEPTH_MM = 0.007;
/** Dwell at which a piece's thresholds hold: 2w/v for w = 0.1 mm at 7000 mm/min. */
export const REFERENCE_DWELL_S = 0.2 / (7000 / 60);

/**
 * How a threshold dose grows with the dwell τ = 2w/v, relative to the reference dwell: heated depth `1/α + ½√(πκτ)`, from the
 * half-space under constant flux (Carslaw & Jaeger 1959, §2.9, value from memory).
 */
export function dwellFactor(dwellS: number): number {
  const heated = (timeS: number) => OPTICAL_DEPTH_MM + 0.5 * Math.sqrt(Math.PI * DIFFUSIVITY_MM2_PER_S * timeS);
  return heated(dwellS) / heated(REFERENCE_DWELL_S);
}

/** Columns of the table of layers. */
export const LAYER_COLUMNS = 6;

/** Table of A, Eth, q, c, δ, g per layer, topmost coat first, wood last, for one pass: `[coats + 1][6]`, row-major; c as in `pulses.ts`. */
export function layerTable(
  stack: Stack,
  wood: Wood,
  dwellS: number,
  pulsed: PulsedCrossing | null,
  airFlow: number,
): Float32Array {
  const factor = pulsed ? pulsed.thresholdFactor : dwellFactor(dwellS);
  return Float32Array.from(
    [...stack.coats, wood].flatMap((layer) => [
      layer.absorptance,
      layer.thresholdJPerMm2 * factor,
      layer.specificEnergyJPerMm3 * shieldingFactor(airFlow),
      (pulsed?.depthUm ?? 0) / shieldingFactor(airFlow),
      'opticalDepthUm' in layer ? layer.opticalDepthUm : 0,
      'touchedFactor' in layer ? layer.touchedFactor : 1,
    ]),
  );
}
