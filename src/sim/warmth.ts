import { spreadLineRise } from '../core/material/heat-sources.ts';
import { type WoodThermal, woodThermal } from '../core/material/wood-handbook.ts';
import type { Piece } from '../core/piece/schema.ts';
import { feedOf, travelRows } from '../core/raster/pass-time.ts';
import { rowPower } from './row-heat.ts';
import type { StripPassJob, WarmthMap } from './strip-task.ts';
import type { ScreenedPass } from './windows.ts';

/** A stop in a pass: before the first row that starts at or after a time, for so long, s. */
export interface Pause {
  readonly atS: number;
  readonly lengthS: number;
}

/** Sizes of the coarse grid on which heat is kept, mm: what flows in the seconds between rows is wider. */
const BIN_MM = 3;
const BAND_MM = 2;
/** Spreads along the rows in which old heat is kept, mm; what is younger has not spread. */
const SPREADS_MM = [0, 2, 4, 8, 16, 32];
/** Bands back to which rows count one by one. */
const NEAR_BANDS = 1;

/**
 * How much warmer than at the start each part of the raster is when the beam comes by: each row before it is a line source on the half-space
 * of wood (see `core/material/heat-sources.ts`), with the share of the absorbed energy that stays as heat. Heat of bands long passed
 * is taken together and spread along the rows. Each pass finds a cold slab.
 *
 * Neglected: the slab's finite thickness and rim (fine for some minutes), the light that a bared undercoat throws back, air cooling.
 *
 * `part`: what of the raster is asked for; elsewhere the map stays at 0. `pauses`: where the pass is held up; rows after it come later.
 */
export function passWarmth(
  piece: Piece,
  index: number,
  job: StripPassJob,
  screened: ScreenedPass,
  part: RasterPart = { column: 0, row: 0, endColumn: screened.raster.columns, endRow: screened.raster.rows },
  pauses: readonly Pause[] = [],
): WarmthMap {
  const pass = piece.passes[index];
  const { pitchMm, columns, rows } = screened.raster;
  const dotsPerBin = Math.max(1, Math.round(BIN_MM / pitchMm));
  const rowsPerBin = Math.max(1, Math.round(BAND_MM / pitchMm));
  const bins = Math.ceil(columns / dotsPerBin);
  const bands = Math.ceil(rows / rowsPerBin);
  const ground = woodThermal(piece.slab.wood.densityKgPerM3);
  const top = piece.stack.coats[0] ?? piece.slab.wood;
  const retained = piece.heat.retainedShare * top.absorptance;
  const heat = rowPower(screened, job.wattsAt, dotsPerBin, bins);
  const perWatt = retained / feedOf(pass, piece.machine.motion) / dotsPerBin;
  for (let i = 0; i < heat.length; i++) heat[i] *= perWatt;
  const clock = rowClock(piece, index, screened, rowsPerBin, pauses);
  const radiusMm = job.focus.acrossRadiiMm[0];
  const warmthK = new Float32Array(bins * bands);
  const middleOf = (band: number) => Math.min(rows - 1, Math.floor((band + 0.5) * rowsPerBin));
  // What is read off between the middles of bins needs the bins round about too.
  const [fromBin, endBin] = around(part.column / dotsPerBin, part.endColumn / dotsPerBin, bins);
  const [fromBand, endBand] = around(part.row / rowsPerBin, part.endRow / rowsPerBin, bands);
  const bandHeat = spreadBands(heat, rows, bins, rowsPerBin, bands, dotsPerBin * pitchMm, fromBin, endBin, endBand);
  for (let band = fromBand; band < endBand; band++) {
    const row = nearestTravelled(
      clock.middleS,
      middleOf(band),
      band * rowsPerBin,
      Math.min(rows, (band + 1) * rowsPerBin),
    );
    if (row < 0) continue;
    const nearFrom = Math.max(0, (band - NEAR_BANDS) * rowsPerBin);
    for (let bin = fromBin; bin < endBin; bin++) {
      const u = (bin + 0.5) * dotsPerBin;
      const now = clock.at(row, u);
      let sum = 0;
      for (let r = nearFrom; r < row; r++) {
        const stored = heat[r * bins + bin];
        if (stored <= 0) continue;
        const age = Math.max(now - clock.at(r, u), clock.shortestS);
        sum += spreadLineRise(ground, stored, radiusMm, (row - r) * pitchMm, 0, age);
      }
      for (let old = 0; old * rowsPerBin < nearFrom; old++) {
        const source = clock.bandS[old];
        if (Number.isNaN(source)) continue;
        const age = Math.max(now - source, clock.shortestS);
        const stored = spreadHeat(bandHeat, ground, age, old, bin, bins, bands);
        if (stored > 0) sum += spreadLineRise(ground, stored, radiusMm, (row - middleOf(old)) * pitchMm, 0, age);
      }
      warmthK[band * bins + bin] = sum;
    }
  }
  return { columns: bins, rows: bands, dotsPerBin, rowsPerBin, warmthK };
}

/** Part of a pass's raster, in dots and rows; ends are one past. */
export interface RasterPart {
  readonly column: number;
  readonly row: number;
  readonly endColumn: number;
  readonly endRow: number;
}

const around = (from: number, end: number, count: number): [number, number] => [
  Math.max(0, Math.floor(from - 0.5)),
  Math.min(count, Math.ceil(end + 0.5) + 1),
];

/** Mean warmth over each pass's map, K; 0 where rows start cold. */
export const meanWarmthsK = (maps: readonly (WarmthMap | null)[]): number[] =>
  maps.map((map) => (map ? map.warmthK.reduce((sum, value) => sum + value, 0) / Math.max(1, map.warmthK.length) : 0));

/** When the beam is where. */
interface RowClock {
  /** s after the pass began, at column u. */
  at(row: number, u: number): number;
  /** Time of each row's middle; NaN for one that is skipped. */
  readonly middleS: Float64Array;
  readonly bandS: Float64Array;
  /** No heat is younger than this when the next row comes. */
  readonly shortestS: number;
}

function rowClock(
  piece: Piece,
  index: number,
  { spans, raster }: ScreenedPass,
  rowsPerBin: number,
  pauses: readonly Pause[],
): RowClock {
  const pass = piece.passes[index];
  const feed = feedOf(pass, piece.machine.motion);
  const rows = raster.rows;
  const middleS = new Float64Array(rows).fill(Number.NaN);
  travelRows(spans, raster.pitchMm, pass, piece.machine.motion, ({ row, startS, endS }) => {
    const late = pauses.reduce((sum, { atS, lengthS }) => sum + (startS >= atS ? lengthS : 0), 0);
    middleS[row] = (startS + endS) / 2 + late;
  });
  const bandS = Float64Array.from({ length: Math.ceil(rows / rowsPerBin) }, (_, band) => {
    const own = middleS.subarray(band * rowsPerBin, (band + 1) * rowsPerBin).filter((time) => !Number.isNaN(time));
    return own.length > 0 ? own.reduce((sum, time) => sum + time, 0) / own.length : Number.NaN;
  });
  return {
    middleS,
    bandS,
    shortestS: (2 * piece.machine.source.spotAlongMm) / feed,
    at(row, u) {
      const fromMiddle = (u - (spans.first[row] + spans.end[row]) / 2) * raster.pitchMm;
      return middleS[row] + (spans.backwards[row] === 1 ? -fromMiddle : fromMiddle) / feed;
    },
  };
}

function nearestTravelled(middleS: Float64Array, wanted: number, from: number, end: number): number {
  for (let away = 0; away < end - from; away++) {
    for (const row of [wanted - away, wanted + away]) {
      if (row >= from && row < end && !Number.isNaN(middleS[row])) return row;
    }
  }
  return -1;
}

/**
 * Heat of whole bands, J/mm, at each of the spreads: `[(spread · bands + band) · bins + bin]`; spread out from `fromBin` to `endBin` and above
 * `endBand` only.
 */
function spreadBands(
  heat: Float32Array,
  rows: number,
  bins: number,
  rowsPerBin: number,
  bands: number,
  binMm: number,
  fromBin: number,
  endBin: number,
  endBand: number,
): Float32Array {
  const out = new Float32Array(SPREADS_MM.length * bands * bins);
  for (let r = 0; r < rows; r++) {
    const at = Math.floor(r / rowsPerBin) * bins;
    for (let bin = 0; bin < bins; bin++) out[at + bin] += heat[r * bins + bin];
  }
  for (let spread = 1; spread < SPREADS_MM.length; spread++) {
    const sigma = SPREADS_MM[spread] / binMm;
    const reach = Math.ceil(3 * sigma);
    const weights = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-0.5 * ((i - reach) / sigma) ** 2));
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    for (let band = 0; band < endBand; band++) {
      for (let bin = fromBin; bin < endBin; bin++) {
        let sum = 0;
        for (let k = Math.max(-reach, -bin); k <= Math.min(reach, bins - 1 - bin); k++) {
          sum += weights[k + reach] * out[band * bins + bin + k];
        }
        out[(spread * bands + band) * bins + bin] = sum / total;
      }
    }
  }
  return out;
}

/** A band's heat in a bin after it has spread along the rows for a time. */
function spreadHeat(
  bandHeat: Float32Array,
  { diffusivityMm2PerS }: WoodThermal,
  ageS: number,
  band: number,
  bin: number,
  bins: number,
  bands: number,
): number {
  const sigma = Math.sqrt(2 * diffusivityMm2PerS * ageS);
  let upper = 1;
  while (upper < SPREADS_MM.length - 1 && SPREADS_MM[upper] < sigma) upper++;
  const low = SPREADS_MM[upper - 1];
  const share = Math.min(1, Math.max(0, (sigma - low) / (SPREADS_MM[upper] - low)));
  const at = (spread: number) => bandHeat[(spread * bands + band) * bins + bin];
  return at(upper - 1) + (at(upper) - at(upper - 1)) * share;
}
