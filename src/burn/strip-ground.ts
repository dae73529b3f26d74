import type { WarmthMap, WarmthSteps } from '../physics/heat/warmth.ts';
import type { RowFocus } from '../physics/raster/exposure.ts';
import { faceHeightMm } from '../physics/raster/warped.ts';
import type { Plane } from './kernel/contract.ts';
import type { StripStack } from './strip.ts';
import type { FocusSteps, Squares, StripJob, StripPassJob, StripTask, StripWindow } from './strip-task.ts';

/** Heat between room temperature and decomposition of acrylic paint, K: 380 °C, range 330–420 (value from memory). */
export const DECOMPOSITION_RISE_K = 360;
/** Thresholds never fall below this share: hotter than that the work would smoke by itself. */
const LOWEST_FACTOR = 0.1;

/** Factor on thresholds of work that is already warm: `(T_dec − T_0 − ΔT) / (T_dec − T_0)`. */
export const warmFactor = (warmthK: number): number => Math.max(LOWEST_FACTOR, 1 - warmthK / DECOMPOSITION_RISE_K);

/** The kernel's `ground` planes of one pass over one strip: threshold factor, wood absorptance, wood density, step of focus. */
export function passGround(
  job: StripJob,
  task: StripTask,
  pass: StripPassJob,
  window: StripWindow,
  stack: StripStack,
): Plane {
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

function addSteps(job: StripJob, task: StripTask, window: StripWindow, steps: WarmthSteps, cold: Float32Array): void {
  const { width, subY } = job;
  const { rowOrigin, rowPerY } = window.place;
  for (let y = 0; y < task.rows; y++) {
    const row = Math.floor(rowOrigin + rowPerY * ((y + 0.5) * subY - 0.5)) + (task.patches?.margin ?? 0);
    const warmK = window.backwards[row] === 1 ? steps.backwardK : steps.forwardK;
    for (let x = 0; x < width; x++) cold[y * width + x] *= warmFactor(warmK[Math.floor(x / steps.cells)]);
  }
}

function addWarmth(job: StripJob, task: StripTask, window: StripWindow, map: WarmthMap, cold: Float32Array): void {
  const { width, subX, subY } = job;
  const { place, backwards } = window;
  const rowsPerCell = Math.abs(place.rowPerX) * subX + Math.abs(place.rowPerY) * subY;
  // A cell that several rows cross finds the mean of two that follow each other.
  const mixed = rowsPerCell > 1.5;
  const last = window.rows - 1;
  for (let y = 0; y < task.rows; y++) {
    const fineY = (y + 0.5) * subY - 0.5;
    for (let x = 0; x < width; x++) {
      const fineX = (x + 0.5) * subX - 0.5;
      const v = place.rowOrigin + place.rowPerX * fineX + place.rowPerY * fineY;
      const u = place.columnOrigin + place.columnPerX * fineX + place.columnPerY * fineY + window.columnStart + 0.5;
      const row = Math.min(last, Math.max(0, Math.floor(v)));
      const other = row < last ? row + 1 : row - 1;
      const own = warmthAt(map, u, v + window.rowStart, row + window.rowStart, backwards[row]);
      cold[y * width + x] *= warmFactor(
        mixed && other >= 0
          ? 0.5 * (own + warmthAt(map, u, v + window.rowStart, other + window.rowStart, backwards[other]))
          : own,
      );
    }
  }
}

/** Warmth at dot u that a row finds, K; v is the place across the rows, in rows. */
export function warmthAt(map: WarmthMap, u: number, v: number, row: number, direction: number): number {
  const { columns, rows, olderK, nearK, nearColumns } = map;
  const first = map.directions === 2 ? direction * rows : 0;
  const across = v / map.rowsPerBin - 0.5;
  const y = Math.min(Math.max(across, 0), rows - 1);
  const y0 = Math.min(rows - 1, Math.floor(y));
  const y1 = Math.min(rows - 1, y0 + 1);
  const above = between(olderK, (first + y0) * columns, columns, u / map.dotsPerBin - 0.5);
  const below = between(olderK, (first + y1) * columns, columns, u / map.dotsPerBin - 0.5);
  const inRaster = Math.min(nearK.length / nearColumns - 1, Math.max(0, row));
  // The first rows have no older ones.
  const older = (above + (below - above) * (y - y0)) * Math.min(1, Math.max(0, 1 + 2 * across));
  return older + between(nearK, inRaster * nearColumns, nearColumns, u / map.nearDots - 0.5);
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
function focusStep(job: StripJob, { focus }: StripPassJob, xCells: number, yCells: number): number {
  const x = job.originXMm + xCells * job.pitchMm;
  const y = job.originYMm + yCells * job.pitchMm;
  return focusStepAt(job, focus, x, y);
}

function squareFocus(job: StripJob, { focus }: StripPassJob, { xMm, yMm }: Squares, square: number): number {
  const at = Math.min(xMm.length - 1, Math.max(0, square));
  return focusStepAt(job, focus, xMm[at], yMm[at]);
}

function focusStepAt({ slab }: StripJob, focus: FocusSteps, xMm: number, yMm: number): number {
  const share = (faceHeightMm(slab, xMm, yMm) - focus.lowMm) / (focus.highMm - focus.lowMm);
  const last = focus.alongRadiiMm.length - 1;
  return Math.min(last, Math.max(0, Math.round(share * last)));
}

/** Spots along one row of a window; null where the face is flat. */
export function windowFocus(
  job: StripJob,
  task: StripTask,
  pass: StripPassJob,
  window: StripWindow,
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
