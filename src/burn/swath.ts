import { encodeSrgbByte } from '../base/color/srgb.ts';
import { toHalfFloat } from '../base/half-float.ts';
import type { WarmthMap, WarmthSteps } from '../physics/heat/warmth.ts';
import { COLUMNS, excessRow } from '../physics/material/appearance.ts';
import { createStackLayer, type StackLayer } from '../physics/material/laid-stack.ts';
import { scorchLevel } from '../physics/material/layers.ts';
import { type RowFocus, rowExposure } from '../physics/raster/exposure.ts';
import { faceHeightMm, type PassRaster, type ScreenedPass } from '../physics/raster/pass-raster.ts';
import { woodAbsorptanceAt } from '../physics/wood/grain.ts';
import { CLEARED_RESIDUE_UM, SCORCHED_LEVEL, THROUGH_UM } from './clearing.ts';
import type { BurnPass, BurnPassOutput, Plane, RasterPlace } from './kernel/contract.ts';
import { packExposure, reachesPatches } from './patch-grid.ts';
import type { SubCells } from './plan.ts';
import {
  type FilmSteps,
  type FocusSteps,
  HISTOGRAM_BIN_UM,
  HISTOGRAM_BINS,
  type Squares,
  type SwathFields,
  type SwathJob,
  type SwathPass,
  type SwathResult,
  type SwathTask,
  type SwathWindow,
} from './swath-task.ts';

/** What lies ready for the burn: films `[coat · rows + row][column]` in µm and the wood under them, a value a cell. */
interface LaidStack {
  readonly thicknessUm: Plane;
  readonly reliefUm: Float32Array;
  readonly density: Float32Array;
  readonly shade: Float32Array;
  readonly woodAbsorptance: Float32Array;
}

/** Burns all passes of one swath and boils the fine cells down to cells. Runs the same in a page, a worker and Node. */
export function burnSwath(job: SwathJob, task: SwathTask, burnPass: BurnPass): SwathResult {
  const fineWidth = job.width * job.subX;
  const fineHeight = task.rows * job.subY;
  const stack = stackOf(job, task);
  const coats = job.stack.coats.length;
  let depthUm: Float32Array = untouched(fineWidth * fineHeight);
  let excess: Float32Array = depthUm;
  let unsound = unsoundIn(stack);
  for (let i = 0; i < job.passes.length; i++) {
    const pass = job.passes[i];
    const window = task.windows[i];
    const whole = windowExposure(job, task, pass, window);
    if (!whole) continue;
    const ground = passGround(job, task, pass, window, stack);
    const place = finePlace(window.place, pass.perDot);
    const burned = task.patches
      ? packExposure(whole, place, (pass.weights.width - 1) / 2, pass.perDot, task.patches)
      : { exposure: whole, place };
    // The kernel takes nothing where a threshold or a dose is no number, which would pass for unburned.
    unsound += countUnsound(ground.data) + countUnsound(burned.exposure.data);
    if (unsound > 0) break;
    const output = burnPass({
      width: fineWidth,
      height: fineHeight,
      depthUm,
      excess,
      ...burned,
      weights: pass.weights,
      thicknessUm: stack.thicknessUm,
      ground,
      layers: pass.layers,
      coats,
      thicknessRows: task.rows,
      subX: job.subX,
      subY: job.subY,
      stride: job.stride,
      phases: pass.phases,
      into: memoryOf(i % 2, fineWidth * fineHeight),
    });
    depthUm = output.depthUm;
    excess = output.excess;
  }
  return reduceSwath(job, task, depthUm, excess, stack, unsound);
}

/** Memory that swaths use one after another: a plane of nothing, the exposure of a pass, and what passes leave, in turns. */
const memory = { nothing: new Float32Array(0), exposure: new Float32Array(0), burned: new Float32Array(0) };

function memoryOf(turn: number, values: number): BurnPassOutput {
  if (memory.burned.length < 4 * values) memory.burned = new Float32Array(4 * values);
  const plane = (at: number) => memory.burned.subarray(at * values, (at + 1) * values);
  return { depthUm: plane(2 * turn), excess: plane(2 * turn + 1) };
}

/** What lies before the first pass; not to be written to. */
function untouched(values: number): Float32Array {
  if (memory.nothing.length < values) memory.nothing = new Float32Array(values);
  return memory.nothing.subarray(0, values);
}

/** Films and wood that were last used, by job and swath: a change of power needs none of them again. */
const kept = { films: new Map<string, Map<string, LaidStack>>(), values: 0 };

/** Values kept at most, 160 MB; beyond it they are made again. */
const MOST_KEPT_VALUES = 40_000_000;

/** Films kept at most: the proof's and those of some crops. */
const MOST_KEPT_FILMS = 6;

export interface LaidRows extends LaidStack {
  /** Values that are no numbers. */
  readonly unsound: number;
}

/** What lies on rows of a job's cells; not kept here, for whoever keeps it. */
export function layRows(job: SwathJob, rows: Rows): LaidRows {
  const stack = laidStack(job, rows);
  return { ...stack, unsound: unsoundIn(stack) };
}

const unsoundIn = ({ thicknessUm, reliefUm, shade }: LaidStack): number =>
  countUnsound(thicknessUm.data) + countUnsound(reliefUm) + countUnsound(shade);

const valuesOf = ({ thicknessUm, shade }: LaidStack): number => thicknessUm.data.length + 4 * shade.length;

function stackOf(job: SwathJob, task: SwathTask): LaidStack {
  if (job.filmSteps) return steppedStack(job, task, job.filmSteps);
  if (job.filmKey === '') return laidStack(job, task);
  const film = kept.films.get(job.filmKey) ?? new Map<string, LaidStack>();
  kept.films.delete(job.filmKey);
  kept.films.set(job.filmKey, film);
  const swath = `${task.y0} ${task.rows}`;
  const found = film.get(swath);
  if (found) return found;
  const stack = laidStack(job, task);
  const values = valuesOf(stack);
  while (kept.films.size > 1 && (kept.films.size > MOST_KEPT_FILMS || kept.values + values > MOST_KEPT_VALUES)) {
    const [oldest, stacks] = kept.films.entries().next().value as [string, Map<string, LaidStack>];
    kept.films.delete(oldest);
    for (const one of stacks.values()) kept.values -= valuesOf(one);
  }
  if (kept.values + values <= MOST_KEPT_VALUES) {
    film.set(swath, stack);
    kept.values += values;
  }
  return stack;
}

/** A tree is grown once for all swaths of a job. */
const layers = new WeakMap<SwathJob, StackLayer>();

type Rows = Pick<SwathTask, 'y0' | 'rows'>;

/** Bare wood gets one row of film that is never read. */
function emptyStack(job: SwathJob, task: Rows): LaidStack {
  const height = Math.max(1, job.stack.coats.length * task.rows);
  const cells = job.width * task.rows;
  return {
    thicknessUm: { width: job.width, height, data: new Float32Array(job.width * height) },
    reliefUm: new Float32Array(cells),
    density: new Float32Array(cells).fill(1),
    shade: new Float32Array(cells),
    woodAbsorptance: new Float32Array(cells).fill(job.slab.wood.absorptance),
  };
}

function laidStack(job: SwathJob, task: Rows): LaidStack {
  const stack = emptyStack(job, task);
  const { width, pitchMm, originXMm } = job;
  let layer = layers.get(job);
  if (!layer) {
    layer = createStackLayer(job.slab, job.stack);
    layers.set(job, layer);
  }
  for (let y = 0; y < task.rows; y++) {
    const row = (plane: Float32Array, line = y) => plane.subarray(line * width, (line + 1) * width);
    layer.row(
      { originXMm, yMm: job.originYMm + (task.y0 + y + 0.5) * pitchMm, pitchMm },
      {
        filmUm: job.stack.coats.map((_, i) => row(stack.thicknessUm.data, i * task.rows + y)),
        reliefUm: row(stack.reliefUm),
        density: row(stack.density),
        shade: row(stack.shade),
      },
    );
  }
  const { absorptance } = job.slab.wood;
  for (let i = 0; i < stack.shade.length; i++) {
    if (stack.shade[i] !== 0) stack.woodAbsorptance[i] = woodAbsorptanceAt(absorptance, stack.shade[i]);
  }
  return stack;
}

function steppedStack(job: SwathJob, task: SwathTask, { along, cells, shares }: FilmSteps): LaidStack {
  const stack = emptyStack(job, task);
  const { width } = job;
  job.stack.coats.forEach((coat, i) => {
    const film = stack.thicknessUm.data.subarray(i * task.rows * width, (i + 1) * task.rows * width);
    for (let k = 0; k < film.length; k++) {
      const at = along === 'x' ? k % width : task.y0 + Math.floor(k / width);
      film[k] = coat.dryThicknessUm * (shares[Math.floor(at / cells)] ?? 1);
    }
  });
  return stack;
}

/** Exposures are as wide as the next multiple: halos differ with feed and spot, and a kernel for each width would be compiled anew. */
const WIDTH_STEP = 64;

/** The place in columns of the exposure, of which a dot has several. */
export const finePlace = (place: RasterPlace, perDot: number): RasterPlace => ({
  ...place,
  columnOrigin: (place.columnOrigin + 0.5) * perDot - 0.5,
  columnPerX: place.columnPerX * perDot,
  columnPerY: place.columnPerY * perDot,
});

/** Energy per row length of the window's rows, J/mm, `perDot` values a dot; null if nothing fires in it. Lies there until the next is asked for. */
function windowExposure(job: SwathJob, task: SwathTask, pass: SwathPass, window: SwathWindow): Plane | null {
  const { columns, rows } = window;
  const values = columns * pass.perDot;
  const width = WIDTH_STEP * Math.ceil(values / WIDTH_STEP);
  if (memory.exposure.length < width * rows) memory.exposure = new Float32Array(width * rows);
  const data = memory.exposure.subarray(0, width * rows);
  const power = new Float64Array(columns);
  let any = false;
  const halfTaps = (pass.weights.width - 1) / 2;
  const { patches } = task;
  // Of patches the margins only lead up to what is burned.
  const wanted = patches && {
    first: Math.round(window.place.columnOrigin) + patches.margin,
    length: patches.dots,
    every: patches.dots + 2 * patches.margin,
  };
  const firesIn = (r: number): boolean => {
    if (window.spanEnd[r] <= window.spanFirst[r]) return false;
    if (patches && !reachesPatches(r, window.place, halfTaps, patches)) return false;
    const base = r * columns;
    let fires = false;
    for (let c = 0; c < columns; c++) {
      const watts = window.mask[base + c] > 0 ? pass.wattsAt[window.levels[base + c]] : 0;
      power[c] = watts;
      if (watts > 0) fires = true;
    }
    return fires;
  };
  for (let r = 0; r < rows; r++) {
    if (!firesIn(r)) {
      data.fill(0, r * width, (r + 1) * width);
      continue;
    }
    any = true;
    data.fill(0, r * width + values, (r + 1) * width);
    rowExposure(
      power,
      window.backwards[r] === 1,
      window.columnStart,
      window.spanFirst[r],
      window.spanEnd[r],
      pass.optics,
      data.subarray(r * width, r * width + values),
      windowFocus(job, task, pass, window, r),
      wanted,
    );
  }
  return any ? { width, height: rows, data } : null;
}

/** Shade of the palest wood that is told apart. */
export const PALEST = -0.4;

/** Depths below the face from which a crack starts to look dark, and at which half the light is lost (estimates). */
export const CRACK_UM = 120;

export const HALF_DARK_UM = 250;

/** Share of the light that comes back out of a place so far below the face. */
function lightInCrack(heightUm: number): number {
  const deep = -heightUm - CRACK_UM;
  return deep > 0 ? 1 / (1 + deep / HALF_DARK_UM) : 1;
}

/**
 * Means over the fine cells of each cell: colour in linear light, residues, depth, dose; and the swath's counts. `unsoundInput`: values the
 * burn was given that are no numbers, counted with those it gave.
 */
function reduceSwath(
  job: SwathJob,
  task: SwathTask,
  depthUm: Float32Array,
  excess: Float32Array,
  stack: LaidStack,
  unsoundInput: number,
): SwathResult {
  const { width, subX, subY, appearance } = job;
  const coats = job.stack.coats;
  const n = coats.length;
  const cells = width * task.rows;
  const fineWidth = width * subX;
  const perFine = 1 / (subX * subY);
  const nominalUm = coats.reduce((sum, coat) => sum + coat.dryThicknessUm, 0);
  const scorchAbsorptance = n >= 2 ? coats[1].absorptance : 0;
  const scorchOnset = n >= 2 ? coats[1].scorchOnsetJPerMm2 : 0;

  const color = job.collect.surface ? new Uint8Array(cells * 4) : null;
  const relief = job.collect.surface ? new Uint16Array(cells * 2) : null;
  const through = job.collect.surface ? new Uint8Array(cells) : null;
  const fields: SwathFields | null = job.collect.fields
    ? {
        residueUm: coats.map(() => new Float32Array(cells)),
        woodDepthUm: new Float32Array(cells),
        excess: new Float32Array(cells),
      }
    : null;
  const histogram = new Uint32Array(HISTOGRAM_BINS);
  let unsound = unsoundInput;
  let pictureCells = 0;
  let lightCells = 0;
  let unclearedCells = 0;
  let scorchedCells = 0;
  let residueSumUm = 0;
  let maxDepthUm = 0;
  const left = new Float64Array(n + 1);
  const film = new Float64Array(n);
  const { rgb, knotRgb, perUm, harmlessExcess } = appearance;
  const thicknessUm = stack.thicknessUm.data;

  for (let y = 0; y < task.rows; y++) {
    for (let x = 0; x < width; x++) {
      const cell = y * width + x;
      let red = 0;
      let green = 0;
      let blue = 0;
      let passed = 0;
      let removed = 0;
      let totalUm = 0;
      for (let i = 0; i < n; i++) {
        film[i] = thicknessUm[(i * task.rows + y) * width + x];
        totalUm += film[i];
        left[i] = 0;
      }
      left[n] = 0;
      const topUm = film[0];
      const shade = Math.min(1, Math.max(PALEST, stack.shade[cell]));
      for (let sy = 0; sy < subY; sy++) {
        const fineRow = (y * subY + sy) * fineWidth + x * subX;
        for (let at = fineRow; at < fineRow + subX; at++) {
          const depth = depthUm[at];
          const dose = excess[at];
          let layer = 0;
          let rest = depth;
          // What is left of the layer being burned, or the depth in wood; the layers below it are whole.
          if (n > 0 && depth < topUm) {
            rest = topUm - depth;
          } else {
            while (layer < n && rest >= film[layer]) rest -= film[layer++];
            if (layer < n) rest = film[layer] - rest;
          }
          left[layer] += rest;
          for (let i = layer + 1; i < n; i++) left[i] += film[i];
          if (color) {
            // As `appearanceIndex` has it.
            const place = rest * perUm[layer];
            const column = place >= 1 ? COLUMNS - 1 : (Math.sqrt(place) * (COLUMNS - 1) + 0.5) | 0;
            const row = dose > harmlessExcess ? excessRow(appearance, dose) : 0;
            const place3 = ((row * (n + 1) + layer) * COLUMNS + column) * 3;
            if (shade === 0) {
              red += rgb[place3];
              green += rgb[place3 + 1];
              blue += rgb[place3 + 2];
            } else {
              red += rgb[place3] + shade * (knotRgb[place3] - rgb[place3]);
              green += rgb[place3 + 1] + shade * (knotRgb[place3 + 1] - rgb[place3 + 1]);
              blue += rgb[place3 + 2] + shade * (knotRgb[place3 + 2] - rgb[place3 + 2]);
            }
          }
          passed += dose;
          removed += depth;
          if (depth > maxDepthUm) maxDepthUm = depth;
        }
      }
      // One value that is no number makes the sum of them none.
      if (!(Math.abs(red + green + blue + passed + removed + totalUm) < Number.POSITIVE_INFINITY)) unsound++;
      const woodUm = left[n] * perFine;
      const meanExcess = passed * perFine;
      const residue = n > 0 ? left[0] * perFine : 0;
      const aim = task.aim[cell];
      const scorch =
        n >= 2 ? Math.max(scorchLevel(scorchAbsorptance * meanExcess, scorchOnset), woodUm > THROUGH_UM ? 1 : 0) : 0;
      let uncleared = 0;
      if (aim > 0) {
        pictureCells++;
        if (scorch >= SCORCHED_LEVEL) scorchedCells++;
      }
      if (aim === 2) {
        lightCells++;
        residueSumUm += residue;
        histogram[Math.min(HISTOGRAM_BINS - 1, Math.floor(residue / HISTOGRAM_BIN_UM))]++;
        if (residue > CLEARED_RESIDUE_UM) {
          uncleared = 255;
          unclearedCells++;
        }
      }
      if (color && relief && through) {
        const heightUm = stack.reliefUm[cell] + totalUm - nominalUm;
        const seen = perFine * lightInCrack(heightUm);
        color[cell * 4] = encodeSrgbByte(red * seen);
        color[cell * 4 + 1] = encodeSrgbByte(green * seen);
        color[cell * 4 + 2] = encodeSrgbByte(blue * seen);
        color[cell * 4 + 3] = job.collect.painted ? (totalUm > 0 ? 255 : 0) : uncleared;
        relief[cell * 2] = toHalfFloat(heightUm - removed * perFine);
        relief[cell * 2 + 1] = scorch > 0 ? toHalfFloat(scorch) : 0;
        through[cell] = woodUm > THROUGH_UM ? 255 : 0;
      }
      if (fields) {
        for (let i = 0; i < n; i++) fields.residueUm[i][cell] = left[i] * perFine;
        fields.woodDepthUm[cell] = woodUm;
        fields.excess[cell] = meanExcess;
      }
    }
  }
  return {
    y0: task.y0,
    rows: task.rows,
    backend: 'cpu',
    stats: { unsound, pictureCells, lightCells, unclearedCells, scorchedCells, residueSumUm, maxDepthUm, histogram },
    color,
    relief,
    through,
    fields,
  };
}

/** Heat between room temperature and decomposition of acrylic paint, K: 380 °C, range 330–420 (value from memory). */
export const DECOMPOSITION_RISE_K = 360;

/** Thresholds never fall below this share: hotter than that the work would smoke by itself. */
export const LOWEST_FACTOR = 0.1;

/** Factor on thresholds of work that is already warm: `(T_dec − T_0 − ΔT) / (T_dec − T_0)`. */
export const warmFactor = (warmthK: number): number => Math.max(LOWEST_FACTOR, 1 - warmthK / DECOMPOSITION_RISE_K);

/** The kernel's `ground` planes of one pass over one swath: threshold factor, wood absorptance, wood density, step of focus. */
function passGround(job: SwathJob, task: SwathTask, pass: SwathPass, window: SwathWindow, stack: LaidStack): Plane {
  const { width } = job;
  const cells = width * task.rows;
  const data = new Float32Array(4 * cells);
  data.set(stack.woodAbsorptance, cells);
  data.set(stack.density, 2 * cells);
  const cold = data.subarray(0, cells);
  const focus = data.subarray(3 * cells);
  const { warmth, coldFactors } = pass;
  const even = coldFactors.length === 1 ? coldFactors[0] : 1;
  cold.fill(typeof warmth === 'number' ? even * warmFactor(warmth) : even);
  if (warmth !== null && typeof warmth !== 'number') {
    if ('olderK' in warmth) addWarmth(job, task, window, warmth, cold);
    else addSteps(job, task, window, warmth, cold);
  }
  if (coldFactors.length > 1) {
    for (let y = 0; y < task.rows; y++) {
      for (let x = 0; x < width; x++) {
        const { squares } = job;
        const step = squares
          ? squareFocus(job, pass, squares, Math.floor(x / squares.cells))
          : focusStep(job, pass, x + 0.5, task.y0 + y + 0.5);
        focus[y * width + x] = step;
        cold[y * width + x] *= coldFactors[step];
      }
    }
  }
  return { width, height: 4 * task.rows, data };
}

function addSteps(job: SwathJob, task: SwathTask, window: SwathWindow, steps: WarmthSteps, cold: Float32Array): void {
  const { width, subY } = job;
  const { rowOrigin, rowPerY } = window.place;
  for (let y = 0; y < task.rows; y++) {
    const row = Math.floor(rowOrigin + rowPerY * ((y + 0.5) * subY - 0.5)) + (task.patches?.margin ?? 0);
    const warmK = window.backwards[row] === 1 ? steps.backwardK : steps.forwardK;
    for (let x = 0; x < width; x++) cold[y * width + x] *= warmFactor(warmK[Math.floor(x / steps.cells)]);
  }
}

function addWarmth(job: SwathJob, task: SwathTask, window: SwathWindow, map: WarmthMap, cold: Float32Array): void {
  const { width, subX, subY } = job;
  const { place, backwards } = window;
  const rowsPerCell = Math.abs(place.rowPerX) * subX + Math.abs(place.rowPerY) * subY;
  // A cell that several rows cross finds the mean of two that follow each other.
  const mixed = rowsPerCell > 1.5;
  const last = window.rows - 1;
  // Rows that run along the cells' are told once for all cells of a row.
  const straight = place.rowPerX === 0;
  for (let y = 0; y < task.rows; y++) {
    const fineY = (y + 0.5) * subY - 0.5;
    let lines: WarmthLine[] = [];
    for (let x = 0; x < width; x++) {
      const fineX = (x + 0.5) * subX - 0.5;
      if (x === 0 || !straight) {
        const v = place.rowOrigin + place.rowPerX * fineX + place.rowPerY * fineY;
        const row = Math.min(last, Math.max(0, Math.floor(v)));
        const other = row < last ? row + 1 : row - 1;
        lines = (mixed && other >= 0 ? [row, other] : [row]).map((r) =>
          warmthLine(map, v + window.rowStart, r + window.rowStart, backwards[r]),
        );
      }
      const u = place.columnOrigin + place.columnPerX * fineX + place.columnPerY * fineY + window.columnStart + 0.5;
      const own = alongLine(map, lines[0], u);
      cold[y * width + x] *= warmFactor(lines.length > 1 ? 0.5 * (own + alongLine(map, lines[1], u)) : own);
    }
  }
}

/** Warmth at dot u that a row finds, K; v is the place across the rows, in rows. */
export const warmthAt = (map: WarmthMap, u: number, v: number, row: number, direction: number): number =>
  alongLine(map, warmthLine(map, v, row, direction), u);

/** Where a map tells of a line along the rows: of older rows above it and below, and of the last few. */
interface WarmthLine {
  readonly above: number;
  readonly below: number;
  /** How far it lies from the one above to the one below, 0–1. */
  readonly share: number;
  /** The first rows have no older ones. */
  readonly older: number;
  readonly near: number;
}

function warmthLine(map: WarmthMap, v: number, row: number, direction: number): WarmthLine {
  const { columns, rows, nearK, nearColumns } = map;
  const first = map.directions === 2 ? direction * rows : 0;
  const across = v / map.rowsPerBin - 0.5;
  const y = Math.min(Math.max(across, 0), rows - 1);
  const y0 = Math.min(rows - 1, Math.floor(y));
  const y1 = Math.min(rows - 1, y0 + 1);
  const inRaster = Math.min(nearK.length / nearColumns - 1, Math.max(0, row));
  return {
    above: (first + y0) * columns,
    below: (first + y1) * columns,
    share: y - y0,
    older: Math.min(1, Math.max(0, 1 + 2 * across)),
    near: inRaster * nearColumns,
  };
}

function alongLine(map: WarmthMap, line: WarmthLine, u: number): number {
  const { columns, olderK, nearK, nearColumns } = map;
  const above = between(olderK, line.above, columns, u / map.dotsPerBin - 0.5);
  const below = between(olderK, line.below, columns, u / map.dotsPerBin - 0.5);
  const older = (above + (below - above) * line.share) * line.older;
  return older + between(nearK, line.near, nearColumns, u / map.nearDots - 0.5);
}

/** Between two neighbours of a line of values; half a step past its ends as the last two go. */
function between(values: Float32Array, start: number, count: number, at: number): number {
  if (count === 1) return values[start];
  const x0 = Math.min(count - 2, Math.max(0, Math.floor(at)));
  const a = values[start + x0];
  const x = Math.min(count - 0.5, Math.max(-0.5, at));
  return Math.max(0, a + (values[start + x0 + 1] - a) * (x - x0));
}

/** Step of focus at a place in cells from the picture's corner. */
export function focusStep(job: SwathJob, { focus }: SwathPass, xCells: number, yCells: number): number {
  const x = job.originXMm + xCells * job.pitchMm;
  const y = job.originYMm + yCells * job.pitchMm;
  return focusStepAt(job, focus, x, y);
}

function squareFocus(job: SwathJob, { focus }: SwathPass, { xMm, yMm }: Squares, square: number): number {
  const at = Math.min(xMm.length - 1, Math.max(0, square));
  return focusStepAt(job, focus, xMm[at], yMm[at]);
}

function focusStepAt({ slab }: SwathJob, focus: FocusSteps, xMm: number, yMm: number): number {
  const share = (faceHeightMm(slab, xMm, yMm) - focus.lowMm) / (focus.highMm - focus.lowMm);
  const last = focus.alongRadiiMm.length - 1;
  return Math.min(last, Math.max(0, Math.round(share * last)));
}

/** Spots along one row of a window; null where the face is flat. */
function windowFocus(
  job: SwathJob,
  task: SwathTask,
  pass: SwathPass,
  window: SwathWindow,
  row: number,
): RowFocus | null {
  const { alongRadiiMm } = pass.focus;
  if (alongRadiiMm.length === 1) return null;
  const { rowOrigin, rowPerX, rowPerY, columnOrigin, columnPerX, columnPerY } = window.place;
  const determinant = columnPerX * rowPerY - columnPerY * rowPerX;
  const steps = new Uint8Array(window.columns);
  for (let c = 0; c < window.columns; c++) {
    const u = c - columnOrigin;
    const v = row + 0.5 - rowOrigin;
    const fineX = (u * rowPerY - columnPerY * v) / determinant;
    const fineY = (columnPerX * v - u * rowPerX) / determinant;
    const cellX = (fineX + 0.5) / job.subX;
    const { squares } = job;
    steps[c] = squares
      ? squareFocus(job, pass, squares, Math.floor(cellX / squares.windowCells))
      : focusStep(job, pass, cellX, task.y0 + (fineY + 0.5) / job.subY);
  }
  return { alongRadiiMm, steps };
}

export interface CellGrid extends SubCells {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** Cells of the picture left of and above the first of these; 0 where it is all there. */
  readonly firstX?: number;
  readonly firstY?: number;
}

/** Rounds off what is whole but for floating point, so that aligned rasters stay aligned. */
const snap = (value: number): number => {
  const scaled = Math.round(value * 5040) / 5040;
  return Math.abs(scaled - value) < 1e-7 ? scaled : value;
};

/** Raster place of fine cell (x, y) of the swath that starts at cell row y0, before the window's start is taken off. */
function rasterPlace(raster: PassRaster, grid: CellGrid, y0: number): RasterPlace {
  const stepX = grid.pitchMm / grid.subX;
  const stepY = grid.pitchMm / grid.subY;
  const x = (grid.firstX ?? 0) * grid.pitchMm + 0.5 * stepX;
  const y = ((grid.firstY ?? 0) + y0) * grid.pitchMm + 0.5 * stepY;
  const { row, column } = raster;
  return {
    rowOrigin: snap(row[0] + row[1] * x + row[2] * y),
    rowPerX: snap(row[1] * stepX),
    rowPerY: snap(row[2] * stepY),
    // A dot's value belongs to its centre: whole column places are dot centres.
    columnOrigin: snap(column[0] + column[1] * x + column[2] * y - 0.5),
    columnPerX: snap(column[1] * stepX),
    columnPerY: snap(column[2] * stepY),
  };
}

/** Where the swath of cell rows `y0 … y0 + rows` lies in a pass's raster, and the first and last rows and columns that its places fall on. */
export function reachOf(raster: PassRaster, grid: CellGrid, y0: number, rows: number) {
  const place = rasterPlace(raster, grid, y0);
  const beside = (grid.stride ?? 0) === 0 ? 0 : 0.5 - 0.5 / grid.subY;
  const xs = [-beside, grid.width * grid.subX - 1 + beside];
  const ys = [0, rows * grid.subY - 1];
  const range = (origin: number, perX: number, perY: number): [number, number] => {
    const corners = xs.flatMap((x) => ys.map((y) => snap(origin + perX * x + perY * y)));
    return [Math.floor(Math.min(...corners)), Math.floor(Math.max(...corners))];
  };
  const [rowLow, rowHigh] = range(place.rowOrigin, place.rowPerX, place.rowPerY);
  const [columnLow, columnHigh] = range(place.columnOrigin, place.columnPerX, place.columnPerY);
  return { place, rowLow, rowHigh, columnLow, columnHigh };
}

/**
 * The part of a pass's raster that reaches a swath of cell rows `y0 … y0 + rows`.
 * `haloRows`: rows to either side whose beam reaches a cell; `haloColumns`: dots after which lag and beam along the row have
 * died away.
 */
export function cutWindow(
  pass: ScreenedPass,
  grid: CellGrid,
  y0: number,
  rows: number,
  haloRows: number,
  haloColumns: number,
): SwathWindow {
  const { place, rowLow, rowHigh, columnLow, columnHigh } = reachOf(pass.raster, grid, y0, rows);
  const rowStart = rowLow - haloRows;
  const columnStart = columnLow - haloColumns;
  const windowRows = rowHigh + haloRows + 1 - rowStart;
  const windowColumns = columnHigh + haloColumns + 2 - columnStart;

  const levels = new Uint8Array(windowRows * windowColumns);
  const mask = new Uint8Array(windowRows * windowColumns);
  const spanFirst = new Int32Array(windowRows);
  const spanEnd = new Int32Array(windowRows);
  const backwards = new Uint8Array(windowRows);
  const { columns, rows: rasterRows } = pass.raster;
  const from = Math.max(0, columnStart);
  const to = Math.min(columns, columnStart + windowColumns);
  for (let r = 0; r < windowRows; r++) {
    const source = rowStart + r;
    if (source < 0 || source >= rasterRows) continue;
    spanFirst[r] = pass.spans.first[source];
    spanEnd[r] = pass.spans.end[source];
    backwards[r] = pass.spans.backwards[source];
    if (to <= from) continue;
    const target = r * windowColumns + from - columnStart;
    levels.set(pass.levels.subarray(source * columns + from, source * columns + to), target);
    mask.set(pass.mask.subarray(source * columns + from, source * columns + to), target);
  }
  return {
    columns: windowColumns,
    rows: windowRows,
    columnStart,
    rowStart,
    levels,
    mask,
    spanFirst,
    spanEnd,
    backwards,
    place: { ...place, rowOrigin: place.rowOrigin - rowStart, columnOrigin: place.columnOrigin - columnStart },
  };
}

/** True if some pass has a dot at the light end (or past the middle, in continuous tone) where cell (x, y) lies. */
export function burnsAtLightEnd(screened: readonly ScreenedPass[], grid: CellGrid, x: number, y: number): boolean {
  const xMm = ((grid.firstX ?? 0) + x + 0.5) * grid.pitchMm;
  const yMm = ((grid.firstY ?? 0) + y + 0.5) * grid.pitchMm;
  for (const { raster, levels, mask } of screened) {
    const c = Math.floor(raster.column[0] + raster.column[1] * xMm + raster.column[2] * yMm);
    const r = Math.floor(raster.row[0] + raster.row[1] * xMm + raster.row[2] * yMm);
    if (c < 0 || r < 0 || c >= raster.columns || r >= raster.rows) continue;
    const at = r * raster.columns + c;
    if (levels[at] >= 128 && mask[at] > 0) return true;
  }
  return false;
}

/** Values that are no finite numbers. */
export function countUnsound(values: ArrayLike<number>): number {
  // Nothing times a number is nothing: most planes are sound, and so told without asking of each value.
  let all = 0;
  for (let i = 0; i < values.length; i++) all += values[i] * 0;
  if (all === 0) return 0;
  let count = 0;
  for (let i = 0; i < values.length; i++) if (!(Math.abs(values[i]) < Number.POSITIVE_INFINITY)) count++;
  return count;
}

/**
 * Hands a burned swath on if every cell of it is a number. Whoever puts swaths together asks: a single cell that is none would pass
 * for unburned in the picture and make a share or a mean of anything.
 * @throws RangeError with a sentence for people.
 */
export function soundSwath(swath: SwathResult): SwathResult {
  const { unsound } = swath.stats;
  if (unsound > 0) {
    throw new RangeError(
      `the burn went wrong: ${unsound} values of the rows from ${swath.y0 + 1} to ${swath.y0 + swath.rows} are no numbers, so nothing of it is shown`,
    );
  }
  return swath;
}
