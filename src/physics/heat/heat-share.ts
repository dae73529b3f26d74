import type { Coat, Heat, Wood } from '../../piece/schema.ts';

/**
 * Absorbed dose that brings a film to decomposition at a dwell of 2 ms by the energy balance ρc·ΔT·depth, J/mm²: 0.010 for 380 °C (half-space under
 * constant flux; Carslaw & Jaeger 1959, §2.9, value from memory), about twice that at the 700–800 °C which the kinetics of a thermogram ask for in
 * milliseconds (Kissinger 1957, value from memory). The finer model of the tests agrees: 1 K less to go saves 5–8e-5 J/mm² of a bite of 12 µm, which
 * is 0.02 J/mm² over 360 K. Checked in test/reference/warm-start.test.ts.
 */
export const THERMAL_THRESHOLD_J_PER_MM2 = 0.02;

/**
 * Share of the absorbed energy, counted in watts of the name plate, that stays in the slab as heat.
 *
 * Thresholds are effective ones: they ask for more of the name plate's watts than the energy balance does, because not all of those arrive at the
 * skin as heat (optics, smoke, plume). The same share of them is all that can warm the slab, so it goes with the threshold:
 * `retained · min(1, Eth,thermal / Eth)`. A top layer that needs less than the energy balance gets all of it.
 */
export const heatShare = ({ retainedShare }: Heat, top: Pick<Coat | Wood, 'thresholdJPerMm2'>): number =>
  retainedShare * Math.min(1, THERMAL_THRESHOLD_J_PER_MM2 / Math.max(1e-9, top.thresholdJPerMm2));
