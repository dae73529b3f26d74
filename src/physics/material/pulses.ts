import type { Source } from '../../piece/schema.ts';

/**
 * Pulsed light. Each pulse takes `d = (1/α_eff)·ln(F / Fth)` where F > Fth (form as in Mannion et al., ablation thresholds of metals;
 * the logarithmic law), with incubation `Fth(N) = Fth·N^(S − 1)` (Jee, Becker & Walser, JOSA B 5, 648, 1988, value from memory).
 *
 * One crossing of a Gaussian beam of radius w along the row lays pulses s = v/f apart, so at a place F falls off as exp(−2x²/w²):
 *   dose of the crossing  D = Σ F = F0·√(π/2)·w/s,
 *   its depth             Σ (1/α)·(L − 2x²/w²) = (4 / (3√2))·(w / (s·α))·L^1.5,  L = ln(F0 / Fth(N)) = ln(D / Dth).
 * Sums are taken as integrals: good from about one pulse per radius on. Checked in test/unit/pulses.test.ts against the sum itself.
 */
export interface PulsedCrossing {
  /** Times a layer's threshold for one pulse, J/mm², gives that of a crossing's dose. */
  readonly thresholdFactor: number;
  /** c of `z = c·ln(D / Dth)^1.5`, µm. */
  readonly depthUm: number;
}

/** Depth of one pulse, µm; 0 below the threshold. Fluences in the same unit. */
export const pulseDepthUm = (depthPerPulseUm: number, fluence: number, threshold: number): number =>
  fluence > threshold ? depthPerPulseUm * Math.log(fluence / threshold) : 0;

/** Threshold after N pulses over that of the first. */
export const incubated = (pulses: number, incubation: number): number => Math.max(1, pulses) ** (incubation - 1);

/** How a crossing answers a pulsed source; null for a continuous one. */
export function pulsedCrossing(source: Source, alongRadiusMm: number, feedMmPerS: number): PulsedCrossing | null {
  const { pulses } = source;
  if (!pulses) return null;
  const perRadius = (alongRadiusMm * pulses.rateHz) / feedMmPerS;
  return {
    thresholdFactor: incubated(2 * perRadius, pulses.incubation) * Math.sqrt(Math.PI / 2) * perRadius,
    depthUm: (4 / (3 * Math.SQRT2)) * perRadius * pulses.depthPerPulseUm,
  };
}
