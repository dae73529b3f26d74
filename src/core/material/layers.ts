import type { Stack, Wood } from '../piece/schema.ts';

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

/** Table of A, Eth, q per layer, topmost coat first, wood last, for one pass: `[coats + 1][3]`, row-major. */
export function layerTable(stack: Stack, wood: Wood, dwellS: number): Float32Array {
  const factor = dwellFactor(dwellS);
  return Float32Array.from(
    [...stack.coats, wood].flatMap((layer) => [
      layer.absorptance,
      layer.thresholdJPerMm2 * factor,
      layer.specificEnergyJPerMm3,
    ]),
  );
}
