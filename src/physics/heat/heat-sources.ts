import type { Coat, Heat, Wood } from '../../piece/schema.ts';

/**
 * Rise of temperature around moving and standing heat sources on the surface of a half-space that loses no heat to the air.
 *
 * Symbols: k conductivity [W/(mm K)], κ diffusivity [mm²/s], ρc = k/κ volumetric heat [J/(mm³ K)], Q' heat per length left behind
 * by a row [J/mm], t time since the row passed [s], r distance from the row [mm], w 1/e² radius of the beam [mm].
 * Source of the equations: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, §2.9, §10.2, §10.3; the moving
 * point D. Rosenthal 1946 (values from memory; the identities between them are checked).
 * Validity: constant properties, nothing melts or burns off; rows long and the slab thick against √(4κt).
 * Checked in test/reference/heat-sources.test.ts.
 */
export interface HeatedGround {
  readonly conductivityWPerMmK: number;
  readonly diffusivityMm2PerS: number;
}

/**
 * The line source laid down by a Gaussian beam, which stays finite as t goes to nothing on the row itself. With the spread across
 * `s² = 2κt + w²/4`, at y across and z below:
 * `ΔT = Q'/(ρc) · exp(−y² / (2s²)) / √(2π s²) · exp(−z² / (4κt)) / √(πκt)`, K.
 */
export function spreadLineRise(
  ground: HeatedGround,
  heatJPerMm: number,
  radiusMm: number,
  acrossMm: number,
  belowMm: number,
  timeS: number,
): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  const along = diffusivityMm2PerS * timeS;
  const spread = 2 * along + 0.25 * radiusMm * radiusMm;
  const across = Math.exp(-(acrossMm * acrossMm) / (2 * spread)) / Math.sqrt(2 * Math.PI * spread);
  const below = Math.exp(-(belowMm * belowMm) / (4 * along)) / Math.sqrt(Math.PI * along);
  return heatJPerMm * (diffusivityMm2PerS / conductivityWPerMmK) * across * below;
}

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

/**
 * Heat in wood by the equations of the Wood Handbook (Forest Products Laboratory, Wood handbook: wood as an engineering material,
 * General Technical Report FPL-GTR-190, Madison 2010, ch. 4; numbers of the equations as there).
 *
 * Symbols: x moisture content [%], G specific gravity, S0 volumetric shrinkage from green to oven-dry [%], T [K].
 * Validity: conductivity across the grain, G > 0.3, x < 25 %, near 24 °C, ±20 %; heat capacity below fibre saturation, 280–420 K.
 * Checked in test/reference/wood-handbook.test.ts.
 */
const FIBRE_SATURATION_PERCENT = 30;

const ROOM_K = 293.15;

/** Conductivity across the grain, `k = G (B + C x) + A`, W/(m K) (eq. 4-15); G as in {@link gravityAtMoisture}. */
export function conductivityAcross(gravity: number, moisturePercent: number): number {
  return gravity * (0.1941 + 0.004064 * moisturePercent) + 0.01864;
}

/**
 * Specific gravity on oven-dry mass and volume at x, `G = Gb / (1 − Sx/100)`, `Sx = S0 (1 − x/30)`, from the basic one Gb (oven-dry mass
 * and green volume) (eqs. 4-7, 4-9).
 */
export function gravityAtMoisture(
  basicGravity: number,
  volumetricShrinkagePercent: number,
  moisturePercent: number,
): number {
  const shrunk = volumetricShrinkagePercent * (1 - Math.min(1, moisturePercent / FIBRE_SATURATION_PERCENT));
  return basicGravity / (1 - shrunk / 100);
}

/** Density with the moisture in it, `ρ = 1000 G (1 + x/100)`, kg/m³ (ch. 4, section on density). */
export const densityAtMoisture = (gravity: number, moisturePercent: number): number =>
  1000 * gravity * (1 + moisturePercent / 100);

/**
 * Specific heat, kJ/(kg K): dry `c0 = 0.1031 + 0.003867 T` (4-16a), with moisture `c = (c0 + 4.18 x/100) / (1 + x/100) + Ac` (4-17),
 * `Ac = x (−0.06191 + 2.36e-4 T − 1.33e-4 x)` (4-18), the heat of the bond between wood and water.
 */
export function specificHeat(moisturePercent: number, temperatureK: number): number {
  const x = moisturePercent;
  const dry = 0.1031 + 0.003867 * temperatureK;
  const bond = x * (-0.06191 + 2.36e-4 * temperatureK - 1.33e-4 * x);
  return (dry + 0.0418 * x) / (1 + x / 100) + bond;
}

export interface WoodThermal extends HeatedGround {
  readonly volumetricHeatJPerMm3K: number;
}

/** Thermal numbers across the grain of wood of a density [kg/m³, moisture included] at 20 °C, in mm, J, W and K. */
export function woodThermal(densityKgPerM3: number, moisturePercent = 8): WoodThermal {
  const gravity = densityKgPerM3 / densityAtMoisture(1, moisturePercent);
  const conductivityWPerMmK = conductivityAcross(gravity, moisturePercent) / 1000;
  // kJ/(kg K) times kg/m³ is kJ/(m³ K), and 1 kJ/m³ is 1e-6 J/mm³.
  const volumetricHeatJPerMm3K = specificHeat(moisturePercent, ROOM_K) * densityKgPerM3 * 1e-6;
  return {
    conductivityWPerMmK,
    volumetricHeatJPerMm3K,
    diffusivityMm2PerS: conductivityWPerMmK / volumetricHeatJPerMm3K,
  };
}
