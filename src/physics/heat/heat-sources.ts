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

/** Instantaneous line source, `ΔT = Q' / (2π k t) · exp(−r² / (4κt))`, K. */
export function lineSourceRise(ground: HeatedGround, heatJPerMm: number, distanceMm: number, timeS: number): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  return (
    (heatJPerMm / (2 * Math.PI * conductivityWPerMmK * timeS)) *
    Math.exp(-(distanceMm * distanceMm) / (4 * diffusivityMm2PerS * timeS))
  );
}

/** When and how hot it gets at a fixed distance from a line source: `t* = r² / (4κ)`, `ΔT = 2Q' / (π e ρc r²)`. */
export function lineSourcePeak(
  ground: HeatedGround,
  heatJPerMm: number,
  distanceMm: number,
): { readonly timeS: number; readonly riseK: number } {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  const squared = distanceMm * distanceMm;
  return {
    timeS: squared / (4 * diffusivityMm2PerS),
    riseK: (2 * heatJPerMm * diffusivityMm2PerS) / (Math.PI * Math.E * conductivityWPerMmK * squared),
  };
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

/** Surface under a constant flux q'' [W/mm²], `ΔT = 2q''·√(t / (π k ρc))`, K. Wants a flux even over more than √(4κt). */
export function surfaceFluxRise(ground: HeatedGround, fluxWPerMm2: number, timeS: number): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  return (2 * fluxWPerMm2 * Math.sqrt((diffusivityMm2PerS * timeS) / Math.PI)) / conductivityWPerMmK;
}

/**
 * Rosenthal's moving point on a thick plate, seen from the point itself: `ΔT = Q / (2π k R) · exp(−v (ξ + R) / (2κ))`, K, with ξ ahead
 * [mm], R the distance [mm], v the feed [mm/s], Q the heat taken up [W].
 */
export function movingPointRise(
  ground: HeatedGround,
  powerW: number,
  feedMmPerS: number,
  aheadMm: number,
  asideMm: number,
): number {
  const { conductivityWPerMmK, diffusivityMm2PerS } = ground;
  const distance = Math.hypot(aheadMm, asideMm);
  return (
    (powerW / (2 * Math.PI * conductivityWPerMmK * distance)) *
    Math.exp((-feedMmPerS * (aheadMm + distance)) / (2 * diffusivityMm2PerS))
  );
}
