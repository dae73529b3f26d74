import type { Piece } from '../../piece/schema.ts';
import type { ScreenedPass } from '../raster/pass-raster.ts';
import { feedOf, travelRows } from '../raster/pass-time.ts';
import { heatShare, spreadLineRise, type WoodThermal, woodThermal } from './heat-sources.ts';

/** A stop in a pass: before the first row that starts at or after a time, for so long, s. */
export interface Pause {
  readonly atS: number;
  readonly lengthS: number;
}

/** Sizes of the coarse grid on which older heat is kept, mm: what flows in the seconds between rows is wider. */
const BIN_MM = 2;

const BAND_MM = 1;

/** A narrow picture is parted finer: its rows come back at once, and much of it lies near their ends. */
const LEAST_BINS = 24;

/** Bins of the last few rows in one of those: near a turning point what the row before left is a matter of milliseconds. */
const NEAR_PER_BIN = 3;

/** Rows back to which heat is worked out row by row at each place. */
const NEAR_ROWS = 8;

/** Spreads along the rows in which heat is kept, mm; what lies between two is read off between them. */
const SPREADS_MM = [0, 2, 4, 8, 16, 32];

/** How many of them a row by itself needs: it is soon taken together with others. */
const ROW_SPREADS = 4;

const NEAR_SPREADS_MM = [0, 0.75, 1.5, 3, 6];

/** Bands back to which rows count one by one. */
const NEAR_BANDS = 2;

/**
 * How much warmer than at the start each part of the raster is when the beam comes by: each row before it is a line source on the half-space
 * of wood (see `physics/heat/heat-sources.ts`), with the share of the absorbed energy that stays as heat (`heat-sources.ts`). Heat of bands
 * long passed is taken together and spread along the rows. Each pass finds a cold slab.
 *
 * Neglected: the slab's finite thickness and rim (fine for some minutes), the light that a bared undercoat throws back, air cooling.
 *
 * `part`: what of the raster is asked for; elsewhere the map stays at 0. `pauses`: where the pass is held up; rows after it come later.
 * @throws Error if a place comes out without a number.
 */
export function passWarmth(...asked: WarmthQuestion): WarmthMap {
  const { near, older, whole } = warmthWork(...asked);
  return whole(nearHeat(near), older());
}

/** What `passWarmth` is asked. */
export type WarmthQuestion = readonly [
  piece: Piece,
  index: number,
  job: { readonly wattsAt: Float64Array; readonly focus: { readonly acrossRadiiMm: Float64Array } },
  screened: ScreenedPass,
  part?: RasterPart,
  pauses?: readonly Pause[],
];

/** Works out what the last few rows before each row leave; somebody else may. */
export interface Warmer {
  /** Parts worth having under way at once. */
  readonly lanes: number;
  warm(near: NearHeat): Promise<Float32Array>;
}

/** Rows that are worth another's while. */
const LEAST_ROWS = 100;

/** `passWarmth`, to the last bit, in parts. Throws as it does. */
export async function passWarmthBy(warmer: Warmer, ...asked: WarmthQuestion): Promise<WarmthMap> {
  const { near, older, whole } = warmthWork(...asked);
  const rows = near.endRow - near.fromRow;
  const parts = Math.max(1, Math.min(warmer.lanes, Math.floor(rows / LEAST_ROWS)));
  const cut = (part: number) => near.fromRow + Math.floor((part * rows) / parts);
  const warming = Promise.all(
    Array.from({ length: parts }, (_, part) => warmer.warm(rowsOf(near, cut(part), cut(part + 1)))),
  );
  // While others are at it.
  const olderK = older();
  const all = new Float32Array(rows * near.bins);
  for (const [part, values] of (await warming).entries()) all.set(values, (cut(part) - near.fromRow) * near.bins);
  return whole(all, olderK);
}

/** The same for some of its rows, with what lies before them. */
const rowsOf = (near: NearHeat, fromRow: number, endRow: number): NearHeat => {
  const firstRow = Math.max(near.firstRow, fromRow - NEAR_ROWS);
  const [from, end] = [firstRow - near.firstRow, endRow - near.firstRow];
  const { startS, perDotS } = near;
  return {
    ...near,
    firstRow,
    fromRow,
    endRow,
    heat: near.heat.slice(from * near.bins, end * near.bins),
    startS: startS.slice(from, end),
    perDotS: perDotS.slice(from, end),
  };
};

interface WarmthWork {
  readonly near: NearHeat;
  /** What rows before the last few leave. */
  older(): Float32Array;
  /** The map, given that and what `nearHeat` says. */
  whole(nearK: Float32Array, olderK: Float32Array): WarmthMap;
}

function warmthWork(...[piece, index, job, screened, asked, pauses = []]: WarmthQuestion): WarmthWork {
  const pass = piece.passes[index];
  const { pitchMm, columns, rows } = screened.raster;
  // Bins of a size, so that none is cut short at a row's end.
  const wanted = Math.max(LEAST_BINS, Math.round((columns * pitchMm) / BIN_MM));
  const bins = Math.max(1, Math.min(Math.floor(columns / NEAR_PER_BIN), wanted));
  const nearBins = NEAR_PER_BIN * bins;
  const dotsPerBin = columns / bins;
  const nearDots = columns / nearBins;
  const rowsPerBin = Math.max(1, Math.round(BAND_MM / pitchMm));
  const bands = Math.ceil(rows / rowsPerBin);
  const part = asked ?? { column: 0, row: 0, endColumn: columns, endRow: rows };
  const top = piece.stack.coats[0] ?? piece.slab.wood;
  const retained = heatShare(piece.heat, top) * top.absorptance;
  const heat = rowPower(screened, job.wattsAt, nearDots, nearBins);
  const perWatt = retained / feedOf(pass, piece.machine.motion);
  for (let i = 0; i < heat.length; i++) heat[i] *= perWatt / dotsIn(i % nearBins, nearDots);
  const clock = rowClock(piece, index, screened, rowsPerBin, pauses);
  const ground = woodThermal(piece.slab.wood.densityKgPerM3);
  const burn: Burn = { ground, shortestS: clock.shortestS, radiusMm: job.focus.acrossRadiiMm[0], pitchMm };
  // What is read off between the middles of bins needs the bins round about too.
  const [fromBin, endBin] = around(part.column / dotsPerBin, part.endColumn / dotsPerBin, bins);
  const [fromBand, endBand] = around(part.row / rowsPerBin, part.endRow / rowsPerBin, bands);
  const near = {
    ...burn,
    firstRow: 0,
    fromRow: fromBand * rowsPerBin,
    endRow: Math.min(rows, endBand * rowsPerBin),
    fromBin: NEAR_PER_BIN * fromBin,
    endBin: NEAR_PER_BIN * endBin,
    bins: nearBins,
    dotsPerBin: nearDots,
    heat,
    startS: clock.startS,
    perDotS: clock.perDotS,
  };
  const directions = pass.rows === 'two-way' ? 2 : 1;
  const older = (): Float32Array => {
    const binMm = dotsPerBin * pitchMm;
    const coarse = coarser(heat, rows, bins, nearBins);
    const spreads = SPREADS_MM.map((spreadMm) => gaussian(spreadMm / binMm));
    // Nobody asks for rows further back by themselves.
    const fromRow = Math.max(0, fromBand - NEAR_BANDS) * rowsPerBin;
    const rowHeat = spreadOut(coarse, bins, SPREADS_MM.slice(0, ROW_SPREADS), spreads, fromRow, near.endRow);
    const bandHeat = spreadOut(inBands(coarse, rows, bins, rowsPerBin), bins, SPREADS_MM, spreads, 0, endBand);
    const olderK = new Float32Array(directions * bins * bands);
    for (let place = 0; place < directions * bands; place++) {
      const band = place % bands;
      if (band < fromBand || band >= endBand) continue;
      const row = sampleRow(
        clock,
        screened.spans.backwards,
        band,
        rowsPerBin,
        directions === 2 ? Math.floor(place / bands) : null,
      );
      if (row < 0) continue;
      const alone = Math.max(0, (band - NEAR_BANDS) * rowsPerBin);
      const out = olderK.subarray(place * bins, (place + 1) * bins);
      for (let r = alone; r < row - NEAR_ROWS; r++) {
        addRises(burn, (row - r) * pitchMm, ageOf(clock, row, r), rowHeat, r, out, fromBin, endBin, dotsPerBin);
      }
      for (let old = 0; old * rowsPerBin < alone; old++) {
        const awayMm = (row - middleOf(old, rowsPerBin, rows)) * pitchMm;
        // Its rows lie so far back that where along this one the beam is makes no difference.
        const age = { atStartS: clock.middleS[row] - clock.bandS[old], perDotS: 0 };
        addRises(burn, awayMm, age, bandHeat, old, out, fromBin, endBin, dotsPerBin);
      }
    }
    return olderK;
  };
  return {
    near,
    older,
    whole(warmedK, olderK) {
      const nearK = new Float32Array(rows * nearBins);
      nearK.set(warmedK, near.fromRow * nearBins);
      if (!nearK.every(Number.isFinite) || !olderK.every(Number.isFinite))
        throw new Error('the heat of a pass has places without a number');
      return {
        columns: bins,
        rows: bands,
        dotsPerBin,
        rowsPerBin,
        directions,
        olderK,
        nearDots,
        nearColumns: nearBins,
        nearK,
      };
    },
  };
}

/** What heat is worked out from. */
interface Burn {
  readonly ground: WoodThermal;
  readonly radiusMm: number;
  readonly pitchMm: number;
  /** No heat is younger than this when the next row comes. */
  readonly shortestS: number;
}

/** Rows whose last few rows before them are asked about. */
export interface NearHeat extends Burn {
  readonly fromRow: number;
  readonly endRow: number;
  readonly fromBin: number;
  readonly endBin: number;
  readonly bins: number;
  readonly dotsPerBin: number;
  /** The row with which begins what is told of rows. */
  readonly firstRow: number;
  /** J/mm, `[row · bins + bin]`. */
  readonly heat: Float32Array;
  /** See `RowClock`. */
  readonly startS: Float64Array;
  readonly perDotS: Float64Array;
}

const middleOf = (band: number, rowsPerBin: number, rows: number): number =>
  Math.min(rows - 1, Math.floor((band + 0.5) * rowsPerBin));

/** Lines of heat at a few spreads along them, J/mm: `heat[(spread · lines + line) · bins + bin]`. */
interface SpreadHeat {
  readonly spreadsMm: readonly number[];
  readonly lines: number;
  readonly bins: number;
  readonly heat: Float32Array;
}

/** How long ago a line of heat was laid when the beam is at dot u: `atStartS + perDotS · u`; NaN if it never was. */
interface Age {
  readonly atStartS: number;
  readonly perDotS: number;
}

/** Adds the rise by a line of heat, K, to bins of a row: the heat has spread along itself as long as across. */
function addRises(
  { ground, radiusMm, shortestS }: Burn,
  awayMm: number,
  { atStartS, perDotS }: Age,
  { spreadsMm, lines, bins, heat }: SpreadHeat,
  line: number,
  out: Float32Array,
  fromBin: number,
  endBin: number,
  dotsPerBin: number,
): void {
  if (Number.isNaN(atStartS)) return;
  let gain = 0;
  let lower = 0;
  let share = 0;
  for (let bin = fromBin; bin < endBin; bin++) {
    // One age for all of the row, unless the two ran against each other.
    if (bin === fromBin || perDotS !== 0) {
      const age = Math.max(atStartS + perDotS * (bin + 0.5) * dotsPerBin, shortestS);
      const sigma = Math.sqrt(2 * ground.diffusivityMm2PerS * age);
      let upper = 1;
      while (upper < spreadsMm.length - 1 && spreadsMm[upper] < sigma) upper++;
      const low = spreadsMm[upper - 1];
      share = Math.min(1, Math.max(0, (sigma - low) / (spreadsMm[upper] - low)));
      lower = ((upper - 1) * lines + line) * bins;
      gain = spreadLineRise(ground, 1, radiusMm, awayMm, 0, age);
    }
    const before = heat[lower + bin];
    out[bin] += gain * (before + (heat[lower + lines * bins + bin] - before) * share);
  }
}

/** Weights of bins up to so many away, and their sum. */
interface Gaussian {
  readonly reach: number;
  readonly weights: Float64Array;
  readonly total: number;
}

function gaussian(sigma: number): Gaussian {
  const reach = Math.ceil(3 * sigma);
  const weights = Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
    sigma > 0 ? Math.exp(-0.5 * ((i - reach) / sigma) ** 2) : 1,
  );
  return { reach, weights, total: weights.reduce((sum, weight) => sum + weight, 0) };
}

/** Lines of heat, from one up to another, spread along themselves; what leaves their ends is lost to the wood beside. */
function spreadOut(
  heat: Float32Array,
  bins: number,
  spreadsMm: readonly number[],
  gaussians: readonly Gaussian[],
  fromLine: number,
  endLine: number,
): SpreadHeat {
  const lines = heat.length / bins;
  const out = new Float32Array(spreadsMm.length * heat.length);
  out.set(heat);
  const margin = Math.max(...spreadsMm.map((_, spread) => gaussians[spread].reach));
  const padded = new Float64Array(bins + 2 * margin + AT_ONCE);
  for (let line = fromLine; line < endLine; line++) {
    let heated = false;
    for (let bin = 0; bin < bins; bin++) {
      const value = heat[line * bins + bin];
      padded[margin + bin] = value;
      if (value > 0) heated = true;
    }
    if (!heated) continue;
    for (let spread = 1; spread < spreadsMm.length; spread++) {
      const to = (spread * lines + line) * bins;
      spreadLine(padded, margin, gaussians[spread], out.subarray(to, to + bins));
    }
  }
  return { spreadsMm, lines, bins, heat: out };
}

/** Bins that are summed side by side: each waits for its own last sum only. */
const AT_ONCE = 4;

/** A line with nothing beyond its ends, of which `padded` has `margin` bins before it. */
function spreadLine(
  padded: Float64Array,
  margin: number,
  { reach, weights, total }: Gaussian,
  out: Float32Array,
): void {
  for (let bin = 0; bin < out.length; bin += AT_ONCE) {
    const from = margin + bin - reach;
    let [a, b, c, d] = [0, 0, 0, 0];
    for (let k = 0; k < weights.length; k++) {
      const weight = weights[k];
      const at = from + k;
      a += weight * padded[at];
      b += weight * padded[at + 1];
      c += weight * padded[at + 2];
      d += weight * padded[at + 3];
    }
    // What lies past the end of the line is not kept.
    out[bin] = a / total;
    out[bin + 1] = b / total;
    out[bin + 2] = c / total;
    out[bin + 3] = d / total;
  }
}

/** Heat of whole bands, J/mm, `[band · bins + bin]`. */
function inBands(heat: Float32Array, rows: number, bins: number, rowsPerBin: number): Float32Array {
  const out = new Float32Array(Math.ceil(rows / rowsPerBin) * bins);
  for (let r = 0; r < rows; r++) {
    const at = Math.floor(r / rowsPerBin) * bins;
    for (let bin = 0; bin < bins; bin++) out[at + bin] += heat[r * bins + bin];
  }
  return out;
}

/** What the last few rows before each row leave, K, in fine bins, from `fromRow` on. */
export function nearHeat(near: NearHeat): Float32Array {
  const { firstRow, fromRow, endRow, fromBin, endBin, bins, dotsPerBin, pitchMm, heat, startS } = near;
  const all = new Float32Array((endRow - fromRow) * bins);
  const lines = new Map<number, SpreadHeat>();
  const spreads = NEAR_SPREADS_MM.map((spreadMm) => gaussian(spreadMm / (dotsPerBin * pitchMm)));
  for (let row = Math.max(firstRow, fromRow - NEAR_ROWS); row < endRow; row++) {
    const at = row - firstRow;
    if (Number.isNaN(startS[at])) continue;
    const out = all.subarray((row - fromRow) * bins, (row - fromRow + 1) * bins);
    for (const [r, line] of lines) {
      if (r < row - NEAR_ROWS) lines.delete(r);
      else if (row >= fromRow) {
        const age = ageOf(near, at, r - firstRow);
        addRises(near, (row - r) * pitchMm, age, line, 0, out, fromBin, endBin, dotsPerBin);
      }
    }
    const own = heat.subarray(at * bins, (at + 1) * bins);
    if (own.some((value) => value > 0)) lines.set(row, spreadOut(own, bins, NEAR_SPREADS_MM, spreads, 0, 1));
  }
  return all;
}

/** How many dots have their places in a bin: its width need not be a whole number of them. */
const dotsIn = (bin: number, dotsPerBin: number): number =>
  Math.max(1, Math.ceil((bin + 1) * dotsPerBin) - Math.ceil(bin * dotsPerBin));

/** Heat in coarse bins, J/mm: the mean of their fine ones. */
function coarser(heat: Float32Array, rows: number, bins: number, nearBins: number): Float32Array {
  const out = new Float32Array(rows * bins);
  for (let row = 0; row < rows; row++) {
    for (let bin = 0; bin < bins; bin++) {
      const own = heat.subarray(row * nearBins + bin * NEAR_PER_BIN, row * nearBins + (bin + 1) * NEAR_PER_BIN);
      out[row * bins + bin] = mean(own);
    }
  }
  return out;
}

/** The row of a band, in a direction if one is asked for, that stands for all of it; -1 if none is travelled. */
function sampleRow(
  { middleS }: RowClock,
  backwards: Uint8Array,
  band: number,
  rowsPerBin: number,
  direction: number | null,
): number {
  const rows = middleS.length;
  const wanted = middleOf(band, rowsPerBin, rows);
  const travelled = (row: number) => !Number.isNaN(middleS[row]);
  const runsSo = (row: number) => travelled(row) && backwards[row] === direction;
  const end = Math.min(rows, (band + 1) * rowsPerBin);
  const found = direction === null ? -1 : nearest(wanted, band * rowsPerBin, end, runsSo);
  return found >= 0 ? found : nearest(wanted, band * rowsPerBin, end, travelled);
}

/** All heat on the coarse grid, K, laid out as `olderK`: the last few rows' as the mean of a bin's rows. */
export function binWarmthK(map: WarmthMap, backwards: Uint8Array): Float32Array {
  const { columns, rows, rowsPerBin, directions, olderK, nearColumns, nearK } = map;
  const out = olderK.slice();
  for (let place = 0; place < directions * rows; place++) {
    const first = (place % rows) * rowsPerBin;
    const own: number[] = [];
    for (let row = first; row < Math.min(nearK.length / nearColumns, first + rowsPerBin); row++) {
      if (directions === 1 || backwards[row] === Math.floor(place / rows)) own.push(row);
    }
    for (let bin = 0; bin < columns; bin++) {
      const end = (bin + 1) * NEAR_PER_BIN;
      let sum = 0;
      for (const row of own)
        sum += mean(nearK.subarray(row * nearColumns + bin * NEAR_PER_BIN, row * nearColumns + end));
      if (own.length > 0) out[place * columns + bin] += sum / own.length;
    }
  }
  return out;
}

/** Mean warmth over each pass's map, K; 0 where rows start cold. */
export const meanWarmthsK = (maps: readonly (WarmthMap | null)[]): number[] =>
  maps.map((map) => (map ? mean(map.olderK) + mean(map.nearK) : 0));

const mean = (values: Float32Array): number =>
  values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length);

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

/** When the beam is where. */
interface RowClock {
  /** When the beam passes the raster's first column on each row, or would, and how long it takes from dot to dot; NaN for a row that is skipped. */
  readonly startS: Float64Array;
  readonly perDotS: Float64Array;
  /** Time of each row's middle; NaN for one that is skipped. */
  readonly middleS: Float64Array;
  readonly bandS: Float64Array;
  readonly shortestS: number;
}

/** How long before a row an earlier one passed each dot of it. */
const ageOf = ({ startS, perDotS }: Pick<RowClock, 'startS' | 'perDotS'>, row: number, earlier: number): Age => ({
  atStartS: startS[row] - startS[earlier],
  perDotS: perDotS[row] - perDotS[earlier],
});

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
  const perDotS = Float64Array.from(
    middleS,
    (_, row) => ((spans.backwards[row] === 1 ? -1 : 1) * raster.pitchMm) / feed,
  );
  const startS = middleS.map((middle, row) => middle - (perDotS[row] * (spans.first[row] + spans.end[row])) / 2);
  return { startS, perDotS, middleS, bandS, shortestS: (2 * piece.machine.source.spotAlongMm) / feed };
}

/** The row nearest to the wanted one that will do; -1 without. */
function nearest(wanted: number, from: number, end: number, willDo: (row: number) => boolean): number {
  for (let away = 0; away < end - from; away++) {
    for (const row of [wanted - away, wanted + away]) {
      if (row >= from && row < end && willDo(row)) return row;
    }
  }
  return -1;
}

/**
 * How much warmer each part of a pass's raster is when the beam comes by, K: the heat of the last few rows, row by row, and that of all
 * older ones on a coarser grid. The older heat has a map for each direction in which rows run, for at its beginning a row finds the one
 * before still hot and at its end long cooled.
 */
export interface WarmthMap {
  readonly columns: number;
  readonly rows: number;
  /** Dots and raster rows of a bin. */
  readonly dotsPerBin: number;
  readonly rowsPerBin: number;
  /** 1 for one-way rows, 2 for two-way ones. */
  readonly directions: 1 | 2;
  /** Of older rows, `[(direction · rows + row) · columns + column]`, direction 1 for rows that run backwards; bilinear between middles. */
  readonly olderK: Float32Array;
  /** Finer bins along the rows, of so many dots, for the last few rows. */
  readonly nearColumns: number;
  readonly nearDots: number;
  /** Of the last few rows, `[raster row · nearColumns + bin]`; linear between middles along the row. */
  readonly nearK: Float32Array;
}

/** Squares along the columns, each of so many cells, with their own warmth on rows that run forwards and backwards, K. */
export interface WarmthSteps {
  readonly cells: number;
  readonly forwardK: ArrayLike<number>;
  readonly backwardK: ArrayLike<number>;
}

/** Dots of each level that a pass burns in each row and bin: `[row · bins + bin]`. */
interface Counted {
  readonly dotsPerBin: number;
  readonly light: Uint16Array;
  readonly dark: Uint16Array;
}

/**
 * A change of power counts the same dots again: by levels and mask, for passes over parts of one picture share their levels. Null where
 * tone is graded: there is more to tell than two levels.
 */
const counted = new WeakMap<Uint8Array, WeakMap<Uint8Array, Counted | null>>();

/** Power that each row gets in each bin, watts times dots: `[row · bins + bin]`. */
function rowPower(
  { levels, mask, raster }: ScreenedPass,
  wattsAt: Float64Array,
  dotsPerBin: number,
  bins: number,
): Float32Array {
  const { columns, rows } = raster;
  const power = new Float32Array(rows * bins);
  const byMask = counted.get(levels) ?? new WeakMap<Uint8Array, Counted | null>();
  counted.set(levels, byMask);
  let counts = byMask.get(mask);
  if (counts === undefined || (counts && counts.dotsPerBin !== dotsPerBin)) {
    counts = countDots(levels, mask, columns, rows, dotsPerBin, bins);
    byMask.set(mask, counts);
  }
  if (counts) {
    const { light, dark } = counts;
    for (let i = 0; i < power.length; i++) power[i] = light[i] * wattsAt[255] + dark[i] * wattsAt[0];
    return power;
  }
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const at = r * columns + c;
      if (mask[at] > 0) power[r * bins + Math.min(bins - 1, Math.floor(c / dotsPerBin))] += wattsAt[levels[at]];
    }
  }
  return power;
}

function countDots(
  levels: Uint8Array,
  mask: Uint8Array,
  columns: number,
  rows: number,
  dotsPerBin: number,
  bins: number,
): Counted | null {
  const light = new Uint16Array(rows * bins);
  const dark = new Uint16Array(rows * bins);
  for (let r = 0; r < rows; r++) {
    for (let bin = 0; bin < bins; bin++) {
      const to = r * columns + Math.min(columns, Math.ceil((bin + 1) * dotsPerBin));
      for (let at = r * columns + Math.ceil(bin * dotsPerBin); at < to; at++) {
        if (mask[at] === 0) continue;
        if (levels[at] === 255) light[r * bins + bin]++;
        else if (levels[at] === 0) dark[r * bins + bin]++;
        else return null;
      }
    }
  }
  return { dotsPerBin, light, dark };
}
