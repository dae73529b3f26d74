import { type AppearanceTable, appearanceIndex } from '../physics/material/appearance.ts';
import { rowExposure } from '../physics/raster/exposure.ts';
import type { Piece } from '../piece/schema.ts';
import { burnCell } from './kernel/burn.kernel.ts';
import { warmFactor } from './swath.ts';
import type { SwathPass } from './swath-task.ts';

/** Columns of dots to either side of a cell that are told apart; what lies further out is taken to be as the outermost. */
const REACH = 2;
const COLUMNS = 2 * REACH + 1;
/** Dots of a row that reach a cell, as bits: the left one is the highest. */
const ROW_PATTERNS = 1 << COLUMNS;
const FULL_ROW = ROW_PATTERNS - 1;
const PATTERNS = ROW_PATTERNS ** 3;
export const ALL_DARK = 0;
export const ALL_LIGHT = PATTERNS - 1;

/**
 * What each cell of a pass comes out as, by the dots round about: luminance (Y, 0–1) by a pattern of 3 × 5 dots, which the law of the burn
 * gives for every one of them. Bits from the highest: the row before, the cell's own, the next, each from left to right; 1 light end, 0 dark end.
 * Idea: T. N. Pappas and D. L. Neuhoff, "Printer models and error diffusion", IEEE Trans. Image Processing 4(1) 66–80, 1995.
 * Neglected: rows further off than the next ones (taken to be as those), a film or a face that is not even, what an earlier pass has left, less
 * power at ramps. Within 0.001 rms of what the burn gives: test/unit/dots.test.ts.
 */
export interface DotModel {
  /** `[direction · warmths + warmth]`: the direction is that of the cell's own row; two-way rows about it run the other way. */
  readonly luminance: readonly Float32Array[];
  /** By direction: how much lighter each pattern comes out under a dose one deviation larger, at a middling warmth. */
  readonly sway: readonly Float32Array[];
  readonly warmthsK: readonly number[];
}

/** Place of a dot in the pattern of a cell `dx` columns and `dy` rows after it. */
export const patternBit = (dx: number, dy: number): number => 1 << (COLUMNS * (1 + dy) + REACH + dx);

/** Places of a cell across the rows, and how they are staggered along them: as `subCells` has them. */
const PLACES = 8;
const STRIDE = 3;

/** Dots beside a row's pattern: lag and beam have died away over them. */
const MARGIN = 24;

/**
 * Deviation of the dose, over what clears a film, that the film's variation from place to place comes to: nobody knows it before the burn.
 * Within limits, so that neither an even film nor a rough one decides alone how the dots lie.
 */
function doseDeviation({ stack }: Piece): number {
  const [top] = stack.coats;
  if (!top) return LEAST_DEVIATION;
  const taken = (top.specificEnergyJPerMm3 * top.dryThicknessUm) / 1000;
  const deviation = (Math.hypot(top.slowVariation, top.fineVariation) * taken) / (top.thresholdJPerMm2 + taken);
  return Math.max(LEAST_DEVIATION, Math.min(MOST_DEVIATION, deviation));
}

const LEAST_DEVIATION = 0.02;
const MOST_DEVIATION = 0.06;

/** @param warmthsK how warm the work may be, rising. */
export function createDotModel(
  piece: Piece,
  pass: SwathPass,
  twoWay: boolean,
  appearance: AppearanceTable,
  warmthsK: readonly number[],
): DotModel {
  const place = createCellLight(piece, pass, appearance);
  const cold = pass.coldFactors[middling(pass.coldFactors)];
  const directions = twoWay ? [0, 1] : [0];
  const tables = (dose: number, warmths: readonly number[]) => {
    const exposures = rowExposures(pass, directions.length, dose);
    return directions.flatMap((direction) =>
      warmths.map((warmK) => tabulate(pass, exposures, direction, cold * warmFactor(warmK), place)),
    );
  };
  const middle = [warmthsK[middling(warmthsK)]];
  const deviation = doseDeviation(piece);
  const more = tables(1 + deviation, middle);
  const less = tables(1 - deviation, middle);
  for (let d = 0; d < more.length; d++) for (let i = 0; i < PATTERNS; i++) more[d][i] = (more[d][i] - less[d][i]) / 2;
  return { luminance: tables(1, warmthsK), sway: more, warmthsK };
}

/** Which of some steps in order stands for all of them: of a slab that is not flat its middle height. */
const middling = ({ length }: ArrayLike<number>): number => Math.floor(length / 2);

/** What reaches the parts of a cell from a row, J/mm: `[direction][pattern · PLACES + part]`. */
function rowExposures(pass: SwathPass, directions: number, dose: number): Float32Array[] {
  const dark = dose * pass.wattsAt[0];
  const light = dose * pass.wattsAt[255];
  const dots = COLUMNS + 2 * MARGIN;
  return Array.from({ length: directions }, (_, direction) => {
    const out = new Float32Array(ROW_PATTERNS * PLACES);
    for (let pattern = 0; pattern < ROW_PATTERNS; pattern++) {
      const power = Float64Array.from({ length: dots }, (__, i) => {
        const column = Math.min(COLUMNS - 1, Math.max(0, i - MARGIN));
        return (pattern >> (COLUMNS - 1 - column)) & 1 ? light : dark;
      });
      const exposure = new Float32Array(dots * PLACES);
      rowExposure(power, direction === 1, 0, -FAR, FAR, pass.optics, exposure);
      const from = (MARGIN + REACH) * PLACES;
      out.set(exposure.subarray(from, from + PLACES), pattern * PLACES);
    }
    return out;
  });
}

/** Dots to the ends of a row: so far that no ramp reaches the pattern. */
const FAR = 1e6;

/** Luminance of a place by the doses of its crossings, J/mm², in burn order, and the factor on its thresholds. */
type CellLight = (doses: Float64Array, cold: number) => number;

function createCellLight(piece: Piece, pass: SwathPass, appearance: AppearanceTable): CellLight {
  const { coats } = piece.stack;
  const { width, height, data } = pass.layers;
  const layers = Array.from({ length: height }, (_, i) => data.subarray(i * width, (i + 1) * width));
  const thickness = coats.length > 0 ? coats.map((coat) => [coat.dryThicknessUm]) : [[0]];
  const taps = pass.weights.width;
  const half = (taps - 1) / 2;
  const ground = [[1], [piece.slab.wood.absorptance], [1], [0]];
  const untouched = [[0]];
  const burned = [[0]];
  const weights = [new Array<number>(taps).fill(1)];
  const exposure = Array.from({ length: taps }, () => [0, 0]);
  const at = { thread: { x: 0, y: 0, z: 0 } };
  const { rgb } = appearance;
  // One cell that is one place: a row a pitch, its own in the middle of the taps.
  const numbers = [coats.length, 1, 1, 1, 1, taps, half + 0.5, 0, 0, 0, 0, 0, 0] as const;
  const run = (wanted: number): number =>
    burnCell.call(at, untouched, untouched, burned, exposure, weights, thickness, ground, layers, wanted, ...numbers);
  return (doses, cold) => {
    for (let tap = 0; tap < taps; tap++) exposure[tap][0] = doses[tap];
    ground[0][0] = cold;
    const depth = run(0);
    burned[0][0] = depth;
    const excess = run(1);
    let layer = 0;
    let rest = depth;
    while (layer < coats.length && rest >= thickness[layer][0]) rest -= thickness[layer++][0];
    if (layer < coats.length) rest = thickness[layer][0] - rest;
    const index = appearanceIndex(appearance, layer, rest, excess);
    return 0.2126 * rgb[index] + 0.7152 * rgb[index + 1] + 0.0722 * rgb[index + 2];
  };
}

/** All patterns of one direction and warmth. At most places one of the neighbouring rows is too far away to burn: then it is not told apart. */
function tabulate(
  pass: SwathPass,
  exposures: readonly Float32Array[],
  direction: number,
  cold: number,
  place: CellLight,
): Float32Array {
  const out = new Float32Array(PATTERNS);
  const taps = pass.weights.width;
  const half = (taps - 1) / 2;
  const own = exposures[direction];
  const beside = exposures[exposures.length - 1 - direction];
  const doses = new Float64Array(taps);
  const weights = pass.weights.data;
  const focus = middling(pass.coldFactors);
  const [absorptance, threshold] = pass.layers.data;
  // A crossing that by itself takes nothing off the topmost layer.
  const least = (JUST_UNDER * cold * threshold) / Math.max(1e-9, absorptance);
  const seen = new Float32Array(PATTERNS);
  for (let k = 0; k < PLACES; k++) {
    const turns = ((k - 0.5 * (PLACES - 1)) * STRIDE) / PLACES;
    const part = Math.floor((turns - Math.floor(turns + 0.5) + 0.5) * PLACES);
    const phase = (focus * pass.phases + Math.floor(((k + 0.5) / PLACES) * pass.phases)) * taps;
    const burns = (tap: number) =>
      weights[phase + tap] * Math.max(beside[FULL_ROW * PLACES + part], beside[part]) > least;
    const before = burns(half - 1) ? FULL_ROW : 0;
    const after = burns(half + 1) ? FULL_ROW : 0;
    for (let middle = 0; middle <= FULL_ROW; middle++) {
      for (let first = 0; first <= before; first++) {
        for (let last = 0; last <= after; last++) {
          // A row that is not told apart counts as the cell's own, so that areas that are light all over get all their excess dose.
          const rows = [before ? first : middle, middle, after ? last : middle];
          for (let tap = 0; tap < taps; tap++) {
            const row = Math.min(1, Math.max(-1, tap - half));
            const from = (tap - half) % 2 === 0 ? own : beside;
            doses[tap] = weights[phase + tap] * from[rows[row + 1] * PLACES + part];
          }
          seen[(first << (2 * COLUMNS)) | (middle << COLUMNS) | last] = place(doses, cold) / PLACES;
        }
      }
    }
    const told = (before << (2 * COLUMNS)) | (FULL_ROW << COLUMNS) | after;
    for (let pattern = 0; pattern < PATTERNS; pattern++) out[pattern] += seen[pattern & told];
  }
  return out;
}

/** Share of a threshold from which a row counts as burning. */
const JUST_UNDER = 0.98;
