import { breathe } from '../base/stop.ts';
import type { ToneImage } from '../image/picture.ts';
import type { RasterPart, WarmthMap } from '../physics/heat/warmth.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import type { PassTime } from '../physics/raster/pass-time.ts';
import type { Piece } from '../piece/schema.ts';
import type { SearchHooks } from './fine-dots.ts';
import { cutJob, type SubCells, subCells } from './plan.ts';
import { appearanceOf, createPreparation, type Photo } from './prepare.ts';
import { type PictureStages, type ReadyHooks, type ReadyPicture, readyPicture } from './ready-picture.ts';
import { runSwaths, type SwathHooks, type SwathRunner, type SwathWork } from './runner.ts';
import type { CellGrid } from './swath.ts';
import { HISTOGRAM_BINS, type SwathCollect, type SwathResult, type SwathStats } from './swath-task.ts';

interface ProofRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly collect: SwathCollect;
}

export interface ProofHooks {
  /** The size of the proof, before its first swath. */
  readonly onGrid?: (grid: { width: number; height: number; pitchMm: number }) => void;
  /** The picture as the first pass burns it, before its first swath. */
  readonly onTone?: (tone: ToneImage) => void;
  /** Swaths in the order in which they are done. */
  readonly onSwath?: (swath: SwathResult) => void;
  /** See `SwathHooks`. */
  readonly onLying?: SwathHooks['onLying'];
  /** Share done, 0–1, with what is being done. */
  readonly onProgress?: (share: number, stage: string) => void;
  readonly signal?: AbortSignal;
  /** Milliseconds of some clock. */
  readonly now?: () => number;
}

export interface Proof {
  readonly grid: CellGrid;
  readonly summary: ProofSummary;
  readonly passes: readonly PassTime[];
  readonly direction: 'lightens' | 'darkens';
  readonly tone: ToneImage;
  readonly screened: readonly ScreenedPass[];
  /** How warm each pass finds the work; null where rows start cold. */
  readonly warmths: readonly (WarmthMap | null)[];
  readonly appearance: AppearanceTable;
  /** What was burned, for whoever wants more of it. */
  readonly work: SwathWork;
  readonly backend: string;
  readonly stagesMs: Readonly<Record<string, number>>;
}

interface ProofPipelineOptions {
  /** Cell rows per swath: bounds memory, gives progress and places to stop. Makes no difference to the result. */
  readonly swathRows: number;
  /** The places of a cell that are burned. */
  readonly subCells: (piece: Piece) => SubCells;
  /** No other proof is asked for: neither pictures nor films are kept for it, which are the largest planes there are. */
  readonly once: boolean;
}

const PROOF_PIPELINE_DEFAULTS: ProofPipelineOptions = { swathRows: 64, subCells, once: false };

/** Computes proofs; keeps what a later one can use again. */
export interface ProofPipeline {
  /** @throws Cancelled if told to stop; RangeError for a piece that cannot be burned. */
  proof(request: ProofRequest, runner: SwathRunner, hooks?: ProofHooks): Promise<Proof>;
  /** Burns a part of the picture only, as it would come out in a proof of all of it. Throws as `proof` does. */
  crop(request: CropRequest, runner: SwathRunner, hooks?: CropHooks): Promise<CropProof>;
  appearance(piece: Piece): AppearanceTable;
  /** All of a proof but the burn: what a sample of the picture is taken from. Dots are searched on `runner`, here where it is left out. Throws as `proof` does. */
  ready(
    request: Pick<ProofRequest, 'piece' | 'photo'>,
    signal?: AbortSignal,
    runner?: SwathRunner,
  ): Promise<ReadyPicture>;
  /**
   * Luminances that the one pass of a piece has its dots placed for, a value a cell (Y, 0–1); null where its screen does not go by the burn, or
   * its rows do not run along the picture.
   */
  aim(piece: Piece, photo: Photo): Float32Array | null;
  /** The picture as the first pass burns it, before it is screened. */
  prepared(piece: Piece, photo: Photo): ToneImage;
}

const NOTHING: SwathCollect = { surface: false, fields: false, painted: false };

export function createProofPipeline(asked: Partial<ProofPipelineOptions> = {}): ProofPipeline {
  const options = { ...PROOF_PIPELINE_DEFAULTS, ...asked };
  const preparation = createPreparation(options.once);
  async function proof(request: ProofRequest, runner: SwathRunner, hooks: ProofHooks = {}): Promise<Proof> {
    const now = hooks.now ?? (() => 0);
    const { signal } = hooks;
    const stagesMs: Record<string, number> = {};
    const heeding = stageOf(signal);
    const timed: ReadyHooks['stage'] = (stage, make) => {
      hooks.onProgress?.(0, stage);
      return heeding(stage, async () => {
        const start = now();
        const value = await make();
        stagesMs[stage] = (stagesMs[stage] ?? 0) + now() - start;
        return value;
      });
    };

    const ready = await readyPicture(stages, request, {
      stage: timed,
      search: { ...searchOn(runner, signal), onShare: (share) => hooks.onProgress?.(share, 'dots') },
      warmer: runner,
      onTone: (tone, { width, height, pitchMm }) => {
        hooks.onGrid?.({ width, height, pitchMm });
        hooks.onTone?.(tone);
      },
    });
    const { tone, whole: grid, screened, passes, direction } = ready;
    const job = options.once ? { ...ready.job, filmKey: '' } : ready.job;

    const burnStart = now();
    const stats = emptyStats();
    let backend: string = runner.description;
    const lightens = direction === 'lightens';
    const work = { job, grid, screened, tone, lightens, swathRows: options.swathRows };
    hooks.onProgress?.(0, 'burn');
    await runSwaths(runner, work, {
      signal,
      onLying: hooks.onLying,
      onShare: (share) => hooks.onProgress?.(share, 'burn'),
      onSwath: (swath) => {
        addStats(stats, swath.stats);
        backend = swath.backend;
        hooks.onSwath?.(swath);
      },
    });
    stagesMs['burn'] = now() - burnStart;
    return {
      grid,
      summary: summarise(stats, passes),
      passes,
      direction,
      tone,
      screened,
      warmths: ready.warmths,
      appearance: ready.appearance,
      work,
      backend: `${backend}: ${runner.description}`,
      stagesMs,
    };
  }
  const prepared = (piece: Piece, photo: Photo): ToneImage =>
    preparation.tone(photo, piece, piece.passes[0].rowPitchMm, piece.picture.tone);
  /** Runs stages one by one: between them messages come in, and a wish to stop is heeded. */
  const stageOf =
    (signal?: AbortSignal): ReadyHooks['stage'] =>
    async (_, make) => {
      await breathe(signal);
      return make();
    };
  const stages = { preparation, appearance: appearanceOf, subCells: options.subCells };
  const ready: ProofPipeline['ready'] = (request, signal, runner) => {
    const search = runner ? searchOn(runner, signal) : { signal };
    return readyPicture(stages, { ...request, collect: NOTHING }, { stage: stageOf(signal), search, warmer: runner });
  };
  const crop = (request: CropRequest, runner: SwathRunner, hooks: CropHooks = {}): Promise<CropProof> =>
    burnCrop(stages, request, runner, stageOf(hooks.signal), hooks);
  const aim = (piece: Piece, photo: Photo): Float32Array | null => {
    const [pass, ...more] = piece.passes;
    return more.length === 0 && pass.headingRad === 0 ? preparation.aim(photo, piece, pass) : null;
  };
  return { proof, ready, crop, appearance: appearanceOf, prepared, aim };
}

/** Has a search of dots run on a runner's workers. */
const searchOn = (runner: SwathRunner, signal?: AbortSignal): SearchHooks => ({
  searcher: { lanes: runner.lanes, search: runner.search },
  signal,
});

/** A rectangle of the placed picture, mm from its left top corner. */
export interface Crop {
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

interface CropRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly crop: Crop;
  readonly collect: SwathCollect;
}

interface CropHooks {
  readonly onShare?: (share: number) => void;
  readonly signal?: AbortSignal;
}

interface CropProof {
  /** The cells that were burned: `firstX` and `firstY` are their place in the picture. */
  readonly grid: CellGrid & { readonly firstX: number; readonly firstY: number };
  /** Time and rows are those of the whole picture, all else the crop's. */
  readonly summary: ProofSummary;
  readonly passes: readonly PassTime[];
  readonly tone: ToneImage;
  readonly screened: readonly ScreenedPass[];
  readonly appearance: AppearanceTable;
  /** Swaths of the crop from its top down. */
  readonly swaths: readonly SwathResult[];
}

/** Cell rows per swath, so few that all lanes have work even in a small crop. */
const SWATH_ROWS = 25;

/**
 * Burns a part of the picture where it lies: dots, rows, film, focus and heat are those that a proof of the whole picture has there, and
 * so is every cell that comes out. A change of power, feed, focus or coats costs only the part.
 * @throws RangeError for a crop beside the picture; Cancelled.
 */
async function burnCrop(
  stages: PictureStages,
  request: CropRequest,
  runner: SwathRunner,
  stage: ReadyHooks['stage'],
  hooks: CropHooks = {},
): Promise<CropProof> {
  const cellsIn = (whole: CellGrid) => ({ ...whole, ...cellsOf(request.crop, whole) });
  const { whole, tone, screened, passes, ...ready } = await readyPicture(stages, request, {
    stage,
    search: searchOn(runner, hooks.signal),
    warmer: runner,
    // A crop beside the picture is refused before anything is screened.
    onTone: (_, cells) => void cellsIn(cells),
    heatIn: (pass, cells) => partOf(cellsIn(cells), pass),
  });
  const grid = cellsIn(whole);
  const job = cutJob(ready.job, grid.firstX, grid.firstY, grid.width);
  const stats = emptyStats();
  const swaths: SwathResult[] = [];
  const lightens = ready.direction === 'lightens';
  await runSwaths(
    runner,
    { job, grid, screened, tone, lightens, swathRows: SWATH_ROWS },
    {
      signal: hooks.signal,
      onShare: hooks.onShare,
      onSwath: (swath) => {
        addStats(stats, swath.stats);
        swaths.push(swath);
      },
    },
  );
  swaths.sort((a, b) => a.y0 - b.y0);
  return { grid, summary: summarise(stats, passes), passes, tone, screened, appearance: ready.appearance, swaths };
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

/** The colours of a crop's swaths in one picture, RGBA8; alpha 255 where uncleared. */
export function cropColors({ grid, swaths }: Pick<CropProof, 'grid' | 'swaths'>): Uint8Array {
  const colors = new Uint8Array(4 * grid.width * grid.height);
  for (const { y0, color } of swaths) if (color) colors.set(color, 4 * y0 * grid.width);
  return colors;
}

/**
 * What a proof comes to. What is counted, here and wherever the product speaks of the same:
 *
 * - a **cell** is a square of the first pass's row pitch, with the mean of what eight places in it come out as (`subCells`);
 * - the **picture** is all cells that the prepared picture covers at all;
 * - a **light dot** is a cell of the picture whose prepared lightness is at least `LIGHT_AREA_LIGHTNESS` and on which some pass sets a dot of
 *   the light end (in continuous tone: one past the middle). The dark dots that a screen leaves between them do not count, for they are
 *   meant to stay: of an area of lightness 0.9 about 78 in 100 cells are light dots.
 */
export interface ProofSummary {
  /** All passes with their ways and turns. */
  readonly burnTimeS: number;
  /** Rows that are travelled, of all passes. */
  readonly rows: number;
  /** Share of the light dots whose mean residue of the topmost coat is over `CLEARED_RESIDUE_UM`, 0–1. */
  readonly unclearedShare: number;
  /** Share of the picture's cells where the coat under the topmost is discoloured (`SCORCHED_LEVEL`) or broken through, 0–1. */
  readonly scorchedShare: number;
  /** Mean residue of the topmost coat on the light dots, µm. */
  readonly meanResidueUm: number;
  /** Deepest of all places burned, coats and wood together, µm. */
  readonly maxDepthUm: number;
  /** Light dots as a share of the picture's cells, 0–1. */
  readonly lightShare: number;
  /** Light dots by residue, bins as in `swath-task.ts`. */
  readonly residueHistogram: readonly number[];
}

type RunningStats = { -readonly [Key in keyof SwathStats]: SwathStats[Key] };

export const emptyStats = (): RunningStats => ({
  unsound: 0,
  pictureCells: 0,
  lightCells: 0,
  unclearedCells: 0,
  scorchedCells: 0,
  residueSumUm: 0,
  maxDepthUm: 0,
  histogram: new Uint32Array(HISTOGRAM_BINS),
});

export function addStats(sum: RunningStats, swath: SwathStats): void {
  sum.unsound += swath.unsound;
  sum.pictureCells += swath.pictureCells;
  sum.lightCells += swath.lightCells;
  sum.unclearedCells += swath.unclearedCells;
  sum.scorchedCells += swath.scorchedCells;
  sum.residueSumUm += swath.residueSumUm;
  sum.maxDepthUm = Math.max(sum.maxDepthUm, swath.maxDepthUm);
  for (let i = 0; i < HISTOGRAM_BINS; i++) sum.histogram[i] += swath.histogram[i];
}

const share = (part: number, whole: number): number => (whole > 0 ? part / whole : 0);

export function summarise(stats: SwathStats, passes: readonly PassTime[]): ProofSummary {
  return {
    burnTimeS: passes.reduce((sum, pass) => sum + pass.timeS, 0),
    rows: passes.reduce((sum, pass) => sum + pass.rows, 0),
    unclearedShare: share(stats.unclearedCells, stats.lightCells),
    scorchedShare: share(stats.scorchedCells, stats.pictureCells),
    meanResidueUm: share(stats.residueSumUm, stats.lightCells),
    maxDepthUm: stats.maxDepthUm,
    lightShare: share(stats.lightCells, stats.pictureCells),
    residueHistogram: Array.from(stats.histogram),
  };
}
