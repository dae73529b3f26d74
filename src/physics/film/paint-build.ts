/**
 * How thick a film dries, and how far paint goes. Only the solids stay: a wet film of volume solids VS, thinned with t parts of
 * thinner to one part of paint, keeps `VS / (1 + t)` of its thickness. Holds for a film that shrinks in thickness only and
 * encloses no air. Source: arithmetic of ISO 3233 and ASTM D2697 (volume solids), as paint makers' data sheets print it; printed
 * examples in `test/reference/paint-build.test.ts`.
 *
 * Everywhere: thickness in µm; `volumeSolids` of the unthinned paint, 0–1; `thinnerShare` is the volume of thinner over that of
 * unthinned paint, 0 for none.
 */

const UM_MM2_PER_ML = 1e6; // 1 mL is 1000 mm³, and 1 mm is 1000 µm.
const UM_M2_PER_L = 1000; // A litre on a square metre is a millimetre.

function requireFrom0(name: string, value: number): void {
  if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(`${name} must be a number ≥ 0, got ${value}`);
}

function requireAbove0(name: string, value: number): void {
  if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`${name} must be a number > 0, got ${value}`);
}

function requireShare(name: string, value: number): void {
  if (!(value >= 0 && value <= 1)) throw new RangeError(`${name} must be a share from 0 to 1, got ${value}`);
}

/**
 * Dry thickness of a wet film, `DFT = WFT·VS / (1 + t)`; µm.
 * @throws RangeError for a negative or endless number, or solids outside 0–1.
 */
export function dryFromWetUm(wetUm: number, volumeSolids: number, thinnerShare: number): number {
  requireFrom0('wet thickness', wetUm);
  requireShare('volume solids', volumeSolids);
  requireFrom0('thinner', thinnerShare);
  return (wetUm * volumeSolids) / (1 + thinnerShare);
}

/**
 * Wet thickness to apply for a dry one, `WFT = DFT·(1 + t) / VS`; µm.
 * @throws RangeError for a negative or endless number, or solids outside 0–1; paint without solids dries to nothing.
 */
export function wetForDryUm(dryUm: number, volumeSolids: number, thinnerShare: number): number {
  requireFrom0('dry thickness', dryUm);
  requireShare('volume solids', volumeSolids);
  requireAbove0('volume solids', volumeSolids);
  requireFrom0('thinner', thinnerShare);
  return (dryUm * (1 + thinnerShare)) / volumeSolids;
}

/**
 * Theoretical spreading rate, `SR = 1000·VS / DFT`: the area in m² that a litre of unthinned paint covers if none is lost.
 * @throws RangeError for a thickness that is not above 0, or solids outside 0–1.
 */
export function spreadingRateM2PerL(dryUm: number, volumeSolids: number): number {
  requireAbove0('dry thickness', dryUm);
  requireShare('volume solids', volumeSolids);
  return (UM_M2_PER_L * volumeSolids) / dryUm;
}

/**
 * Mean dry thickness from an amount: this much paint on this area, `DFT = V·T·VS / ((1 + t)·A)`; µm. `millilitres` (V) is what
 * leaves the gun or the pot, thinner included; `transferShare` (T, 0–1) is the share of it that lands on the slab.
 * @throws RangeError for a negative or endless number, an area that is not above 0, or shares outside 0–1.
 */
export function dryFromAmountUm(
  millilitres: number,
  areaMm2: number,
  volumeSolids: number,
  thinnerShare: number,
  transferShare: number,
): number {
  requireFrom0('amount of paint', millilitres);
  requireAbove0('area', areaMm2);
  requireShare('transfer', transferShare);
  return dryFromWetUm((UM_MM2_PER_ML * millilitres * transferShare) / areaMm2, volumeSolids, thinnerShare);
}
