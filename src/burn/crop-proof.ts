import type { ToneImage } from '../image/picture.ts';
import type { RasterPart } from '../physics/heat/warmth.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import type { PassTime } from '../physics/raster/pass-time.ts';
import type { Piece } from '../piece/schema.ts';
import { cutJob } from './plan.ts';
import type { Photo } from './prepare.ts';
import { type PictureStages, type ReadyHooks, readyPicture } from './ready-picture.ts';
import { runStrips } from './run-strips.ts';
import type { StripRunner } from './runner.ts';
import { addStats, emptyStats, type ProofSummary, summarise } from './statistics.ts';
import type { StripCollect, StripResult } from './strip-task.ts';
import type { CellGrid } from './windows.ts';

/** A rectangle of the placed picture, mm from its left top corner. */
export interface Crop {
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

export interface CropRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly crop: Crop;
  readonly collect: StripCollect;
}

export interface CropHooks {
  readonly onStrip?: (strip: StripResult) => void;
  readonly onShare?: (share: number) => void;
  readonly shouldStop?: () => boolean;
  /** Awaited between stages, so that messages can come in where they run. */
  readonly breathe?: () => Promise<void>;
}

export interface CropProof {
  /** The cells that were burned: `firstX` and `firstY` are their place in the picture. */
  readonly grid: CellGrid & { readonly firstX: number; readonly firstY: number };
  /** Time and rows are those of the whole picture, all else the crop's. */
  readonly summary: ProofSummary;
  readonly passes: readonly PassTime[];
  readonly tone: ToneImage;
  readonly screened: readonly ScreenedPass[];
  readonly appearance: AppearanceTable;
  /** Strips of the crop from its top down. */
  readonly strips: readonly StripResult[];
}

/** Cell rows per strip, so few that all lanes have work even in a small crop. */
const STRIP_ROWS = 25;

/**
 * Burns a part of the picture where it lies: dots, rows, film, focus and heat are those that a proof of the whole picture has there, and
 * so is every cell that comes out. A change of power, feed, focus or coats costs only the part.
 * @throws RangeError for a crop beside the picture; Cancelled.
 */
export async function burnCrop(
  stages: PictureStages,
  request: CropRequest,
  runner: StripRunner,
  stage: ReadyHooks['stage'],
  hooks: CropHooks = {},
): Promise<CropProof> {
  const shouldStop = hooks.shouldStop ?? (() => false);
  const cellsIn = (whole: CellGrid) => ({ ...whole, ...cellsOf(request.crop, whole) });
  const { whole, tone, screened, passes, ...ready } = await readyPicture(stages, request, {
    stage,
    // A crop beside the picture is refused before anything is screened.
    onTone: (_, cells) => void cellsIn(cells),
    heatIn: (pass, cells) => partOf(cellsIn(cells), pass),
  });
  const grid = cellsIn(whole);
  const job = cutJob(ready.job, grid.firstX, grid.firstY, grid.width);
  const stats = emptyStats();
  const strips: StripResult[] = [];
  const lightens = ready.direction === 'lightens';
  await runStrips(
    runner,
    { job, grid, screened, tone, lightens, stripRows: STRIP_ROWS },
    {
      shouldStop,
      onShare: hooks.onShare,
      onStrip: (strip) => {
        addStats(stats, strip.stats);
        strips.push(strip);
        hooks.onStrip?.(strip);
      },
    },
  );
  strips.sort((a, b) => a.y0 - b.y0);
  return { grid, summary: summarise(stats, passes), passes, tone, screened, appearance: ready.appearance, strips };
}

/** Cells of a crop; it loses what lies beside the picture. @throws RangeError if nothing is left. */
export function cellsOf(
  crop: Crop,
  { width, height, pitchMm }: Pick<CellGrid, 'width' | 'height' | 'pitchMm'>,
): { firstX: number; firstY: number; width: number; height: number } {
  const along = (fromMm: number, lengthMm: number, count: number): [number, number] => {
    const from = Math.round(fromMm / pitchMm);
    const end = from + Math.max(1, Math.round(lengthMm / pitchMm));
    return [Math.max(0, from), Math.min(count, end)];
  };
  const [firstX, endX] = along(crop.xMm, crop.widthMm, width);
  const [firstY, endY] = along(crop.yMm, crop.heightMm, height);
  if (!(endX > firstX && endY > firstY)) throw new RangeError('the crop lies beside the picture');
  return { firstX, firstY, width: endX - firstX, height: endY - firstY };
}

/** What of a pass's raster lies over the cells. */
function partOf({ firstX = 0, firstY = 0, width, height, pitchMm }: CellGrid, { raster }: ScreenedPass): RasterPart {
  const corners = [0, 1, 2, 3].map((corner) => {
    const xMm = (firstX + (corner & 1) * width) * pitchMm;
    const yMm = (firstY + (corner >> 1) * height) * pitchMm;
    return [raster.column, raster.row].map(([at, perX, perY]) => at + perX * xMm + perY * yMm);
  });
  const [columns, rows] = [0, 1].map((k) => corners.map((corner) => corner[k]));
  return {
    column: Math.min(...columns),
    row: Math.min(...rows),
    endColumn: Math.max(...columns),
    endRow: Math.max(...rows),
  };
}

/** The colours of a crop's strips in one picture, RGBA8; alpha 255 where uncleared. */
export function cropColors({ grid, strips }: Pick<CropProof, 'grid' | 'strips'>): Uint8Array {
  const colors = new Uint8Array(4 * grid.width * grid.height);
  for (const { y0, color } of strips) if (color) colors.set(color, 4 * y0 * grid.width);
  return colors;
}
