import { CLEARED_RESIDUE_UM, SCORCHED_LEVEL } from '../../burn/clearing.ts';
import { biteUm, clearingDose, opaqueDepthUm } from '../../burn/kernel/burn.kernel.ts';
import { warmFactor } from '../../burn/strip-ground.ts';
import { lineDose } from '../../physics/beam/gaussian.ts';
import { spotRadii } from '../../physics/beam/source.ts';
import { layerTable } from '../../physics/material/layers.ts';
import { pulsedCrossing } from '../../physics/material/pulses.ts';
import type { Pass, Piece } from '../../piece/schema.ts';

/** Rows to either side of a place whose beam counts, and places between two rows. */
const NEAR_ROWS = 5;
const PHASES = [1 / 6, 1 / 2, 5 / 6];

/** The topmost coat under even rows of one pass: what the burn kernel does, at a few places across a row. */
export interface Column {
  /** Mean residue, µm, and mean dose past the coat, J/mm², at so many watts. */
  burn(watts: number): { readonly leftUm: number; readonly excess: number };
  /** Watts whose row just reaches the coat's threshold in its middle. */
  readonly thresholdWatts: number;
}

/** `film`: thickness over the mean. Without dots, lag and rims, which the burned patches have. @throws RangeError without a coat. */
export function columnOf(piece: Piece, pass: Pass, film: number, warmthK: number): Column {
  const [coat] = piece.stack.coats;
  if (!coat) throw new RangeError('bare wood has no coat to take away');
  const { source, airFlow } = piece.machine;
  const { alongMm, acrossMm } = spotRadii(source, pass);
  const dwellS = (2 * alongMm) / pass.feedMmPerS;
  const pulsed = pulsedCrossing(source, alongMm, pass.feedMmPerS);
  const [absorptance, cold, energy, pulseUm, thinUm] = layerTable(
    piece.stack,
    piece.slab.wood,
    dwellS,
    pulsed,
    airFlow,
  );
  const threshold = Math.max(1e-9, cold * warmFactor(warmthK));
  const filmUm = coat.dryThicknessUm * film;
  const opaqueUm = opaqueDepthUm(threshold, energy, pulseUm);
  const perWatt = PHASES.map((phase) =>
    Array.from({ length: 2 * NEAR_ROWS + 1 }, (_, k) =>
      lineDose(1, pass.feedMmPerS, acrossMm, (k - NEAR_ROWS + 0.5 - phase) * pass.rowPitchMm),
    ),
  );
  const burnPlace = (doses: readonly number[], watts: number): [number, number] => {
    let leftUm = filmUm;
    let excess = 0;
    for (const perOne of doses) {
      const dose = watts * perOne;
      if (leftUm <= 0) {
        excess += dose;
        continue;
      }
      const share = leftUm < opaqueUm ? leftUm / opaqueUm : 1;
      const used = clearingDose(threshold, energy, leftUm, pulseUm) / absorptance;
      excess += dose - share * Math.min(dose, used);
      leftUm -= biteUm(dose, absorptance, threshold, energy, leftUm, pulseUm, thinUm);
    }
    return [leftUm, excess];
  };
  return {
    burn(watts) {
      let leftUm = 0;
      let excess = 0;
      for (const doses of perWatt) {
        const [left, past] = burnPlace(doses, watts);
        leftUm += left / PHASES.length;
        excess += past / PHASES.length;
      }
      return { leftUm, excess };
    },
    thresholdWatts: threshold / Math.max(1e-12, absorptance * lineDose(1, pass.feedMmPerS, acrossMm)),
  };
}

/** Watts from which the mean residue no longer counts as uncleared. */
export const clearingWatts = (column: Column): number =>
  leastWatts(column, ({ leftUm }) => leftUm <= CLEARED_RESIDUE_UM);

/** Watts from which the coat below counts as scorched; infinite if there is none. */
export function scorchingWatts(column: Column, { stack }: Piece): number {
  const under = stack.coats[1];
  if (!under) return Number.POSITIVE_INFINITY;
  const most = (under.scorchOnsetJPerMm2 * (1 - 3 * Math.log(1 - SCORCHED_LEVEL))) / Math.max(1e-6, under.absorptance);
  return leastWatts(column, ({ excess }) => excess >= most);
}

function leastWatts(column: Column, enough: (burned: ReturnType<Column['burn']>) => boolean): number {
  let low = column.thresholdWatts / 4;
  let high = low;
  for (let i = 0; i < 40 && !enough(column.burn(high)); i++) high *= 2;
  for (let i = 0; i < 24; i++) {
    const middle = Math.sqrt(low * high);
    if (enough(column.burn(middle))) high = middle;
    else low = middle;
  }
  return high;
}
