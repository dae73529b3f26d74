import { Cancelled } from '../core/cancelled.ts';
import type { ToneImage } from '../core/image/picture.ts';
import { type AppearanceTable, buildAppearance, burnDirection } from '../core/material/appearance.ts';
import type { Coat, Piece } from '../core/piece/schema.ts';
import { LIGHT_AREA_LIGHTNESS } from '../core/quality/clearing.ts';
import { type PassTime, passTime } from '../core/raster/pass-time.ts';
import { createMemo } from './memo.ts';
import { haloOf, planJob, subCells } from './plan.ts';
import { createPreparation, type Photo } from './prepare.ts';
import type { StripRunner } from './runner.ts';
import { addStats, emptyStats, type ProofSummary, summarise } from './statistics.ts';
import type { StripCollect, StripResult, WarmthMap } from './strip-task.ts';
import { passWarmth } from './warmth.ts';
import { burnsAtLightEnd, type CellGrid, cutWindow, type ScreenedPass } from './windows.ts';

export interface ProofRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly collect: StripCollect;
}

export interface ProofHooks {
  /** The size of the proof, before its first strip. */
  readonly onGrid?: (grid: { width: number; height: number; pitchMm: number }) => void;
  /** Strips in the order in which they are done. */
  readonly onStrip?: (strip: StripResult) => void;
  /** Share done, 0–1, with what is being done. */
  readonly onProgress?: (share: number, stage: string) => void;
  readonly shouldStop?: () => boolean;
  /** Awaited between stages, so that messages can come in where they run. */
  readonly breathe?: () => Promise<void>;
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
  readonly backend: string;
  readonly stagesMs: Readonly<Record<string, number>>;
}

export interface ProofPipelineOptions {
  /** Cell rows per strip: bounds memory, gives progress and places to stop. Makes no difference to the result. */
  readonly stripRows: number;
}

export const PROOF_PIPELINE_DEFAULTS: ProofPipelineOptions = { stripRows: 64 };

/** Computes proofs; keeps what a later one can use again. */
export interface ProofPipeline {
  /** @throws Cancelled if told to stop; RangeError for a piece that cannot be burned. */
  proof(request: ProofRequest, runner: StripRunner, hooks?: ProofHooks): Promise<Proof>;
  appearance(piece: Piece): AppearanceTable;
  /** The picture as the first pass burns it, before it is screened; heeds nobody's wish to stop. */
  prepared(piece: Piece, photo: Photo): ToneImage;
}

export function createProofPipeline(options: ProofPipelineOptions = PROOF_PIPELINE_DEFAULTS): ProofPipeline {
  let stopNow: () => boolean = () => false;
  const preparation = createPreparation(() => stopNow());
  const tables = createMemo<AppearanceTable>(4);
  const appearance = (piece: Piece) =>
    tables(JSON.stringify([piece.stack.coats.map(lookOf), piece.slab.wood, piece.machine.airFlow]), () =>
      buildAppearance(piece.stack, piece.slab.wood, piece.machine.airFlow),
    );

  async function proof(request: ProofRequest, runner: StripRunner, hooks: ProofHooks = {}): Promise<Proof> {
    const { piece, photo, collect } = request;
    const now = hooks.now ?? (() => 0);
    const shouldStop = hooks.shouldStop ?? (() => false);
    stopNow = shouldStop;
    const stagesMs: Record<string, number> = {};
    const timed = async <Value>(stage: string, make: () => Value): Promise<Value> => {
      hooks.onProgress?.(0, stage);
      await hooks.breathe?.();
      if (shouldStop()) throw new Cancelled();
      const start = now();
      const value = make();
      stagesMs[stage] = (stagesMs[stage] ?? 0) + now() - start;
      return value;
    };

    const table = await timed('colour', () => appearance(piece));
    const direction = burnDirection(piece.stack, piece.slab.wood);
    const first = piece.passes[0];
    const tone = await timed('tones', () => preparation.tone(photo, piece, first.rowPitchMm, piece.picture.tone));
    const grid: CellGrid = {
      width: tone.width,
      height: tone.height,
      pitchMm: first.rowPitchMm,
      ...subCells(piece),
    };
    hooks.onGrid?.({ width: grid.width, height: grid.height, pitchMm: grid.pitchMm });
    const planned = planJob(piece, table, grid, null, collect);
    const screened: ScreenedPass[] = [];
    for (const [i, pass] of piece.passes.entries()) {
      const fires = (level: number) => planned.passes[i].wattsAt[level] > 0;
      screened.push(await timed('screen', () => preparation.screen(photo, piece, pass, fires)));
    }
    const passes = screened.map((pass, i) =>
      passTime(pass.spans, pass.raster.pitchMm, piece.passes[i], piece.machine.motion),
    );

    const warmths: (WarmthMap | null)[] = [];
    for (const [i, pass] of screened.entries()) {
      warmths.push(
        piece.heat.carryOver ? await timed('heat', () => passWarmth(piece, i, planned.passes[i], pass)) : null,
      );
    }
    const job = { ...planned, passes: planned.passes.map((pass, i) => ({ ...pass, warmth: warmths[i] })) };

    const burnStart = now();
    const stats = emptyStats();
    let backend: string = runner.description;
    await runStrips(runner, job, grid, screened, tone, direction === 'lightens', {
      ...hooks,
      ...options,
      shouldStop,
      onStrip: (strip) => {
        addStats(stats, strip.stats);
        backend = strip.backend;
        hooks.onStrip?.(strip);
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
      warmths,
      appearance: table,
      backend: `${backend}: ${runner.description}`,
      stagesMs,
    };
  }
  function prepared(piece: Piece, photo: Photo): ToneImage {
    const stopProof = stopNow;
    stopNow = () => false;
    try {
      return preparation.tone(photo, piece, piece.passes[0].rowPitchMm, piece.picture.tone);
    } finally {
      stopNow = stopProof;
    }
  }
  return { proof, appearance, prepared };
}

/** What of a coat decides its colour. */
export const lookOf = ({ colorLab, scatteringPerMm, dryThicknessUm, absorptance, scorchOnsetJPerMm2 }: Coat) => [
  colorLab,
  scatteringPerMm,
  dryThicknessUm,
  absorptance,
  scorchOnsetJPerMm2,
];

/** Sends the strips through the runner, as many at a time as it has lanes for. */
async function runStrips(
  runner: StripRunner,
  job: ReturnType<typeof planJob>,
  grid: CellGrid,
  screened: readonly ScreenedPass[],
  tone: ToneImage,
  lightens: boolean,
  hooks: ProofHooks & ProofPipelineOptions & { shouldStop: () => boolean },
): Promise<void> {
  runner.start(job);
  const { stripRows } = hooks;
  const count = Math.ceil(grid.height / stripRows);
  let next = 0;
  let done = 0;
  const lane = async (): Promise<void> => {
    while (next < count) {
      if (hooks.shouldStop()) throw new Cancelled();
      const y0 = next * stripRows;
      next++;
      const rows = Math.min(stripRows, grid.height - y0);
      const windows = screened.map((pass, i) => {
        const halo = haloOf(job.passes[i]);
        return cutWindow(pass, grid, y0, rows, halo.rows, halo.columns);
      });
      const aim = aimOf(tone, screened, grid, y0, rows, lightens);
      const result = await runner.run({ jobId: job.id, y0, rows, windows, aim });
      if (hooks.shouldStop()) throw new Cancelled();
      done++;
      hooks.onStrip?.(result);
      hooks.onProgress?.(done / count, 'burn');
    }
  };
  await Promise.all(Array.from({ length: runner.lanes }, lane));
}

/** 1 in the picture, 2 where it is light and some pass burns its dot at the light end, so that the coat is meant to be gone. */
function aimOf(
  tone: ToneImage,
  screened: readonly ScreenedPass[],
  grid: CellGrid,
  y0: number,
  rows: number,
  lightens: boolean,
): Uint8Array {
  const aim = new Uint8Array(grid.width * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < grid.width; x++) {
      const at = (y0 + y) * grid.width + x;
      if (tone.mask[at] === 0) continue;
      const light = lightens && tone.lightness[at] >= LIGHT_AREA_LIGHTNESS;
      aim[y * grid.width + x] = light && burnsAtLightEnd(screened, grid, x, y0 + y) ? 2 : 1;
    }
  }
  return aim;
}
