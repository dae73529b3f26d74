import type { HeatedGround } from './heat-sources.ts';

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
