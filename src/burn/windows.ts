import type { PassRaster, ScreenedPass } from '../physics/raster/pass-raster.ts';
import type { RasterPlace } from './kernel/contract.ts';
import type { SubCells } from './plan.ts';
import type { StripWindow } from './strip-task.ts';

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

/** Raster place of fine cell (x, y) of the strip that starts at cell row y0, before the window's start is taken off. */
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

/**
 * The part of a pass's raster that reaches a strip of cell rows `y0 … y0 + rows`.
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
): StripWindow {
  const place = rasterPlace(pass.raster, grid, y0);
  const beside = (grid.stride ?? 0) === 0 ? 0 : 0.5 - 0.5 / grid.subY;
  const xs = [-beside, grid.width * grid.subX - 1 + beside];
  const ys = [0, rows * grid.subY - 1];
  const range = (origin: number, perX: number, perY: number): [number, number] => {
    const corners = xs.flatMap((x) => ys.map((y) => snap(origin + perX * x + perY * y)));
    return [Math.floor(Math.min(...corners)), Math.floor(Math.max(...corners))];
  };
  const [rowLow, rowHigh] = range(place.rowOrigin, place.rowPerX, place.rowPerY);
  const [columnLow, columnHigh] = range(place.columnOrigin, place.columnPerX, place.columnPerY);
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
