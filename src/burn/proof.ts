import { Cancelled } from '../base/cancelled.ts';
import type { ToneImage } from '../image/picture.ts';
import type { WarmthMap } from '../physics/heat/warmth.ts';
import { type AppearanceTable, buildAppearance } from '../physics/material/appearance.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import type { PassTime } from '../physics/raster/pass-time.ts';
import type { Coat, Piece } from '../piece/schema.ts';
import { burnCrop, type CropHooks, type CropProof, type CropRequest } from './crop-proof.ts';
import { createMemo } from './memo.ts';
import { type SubCells, subCells } from './plan.ts';
import { createPreparation, type Photo } from './prepare.ts';
import { type ReadyHooks, type ReadyPicture, readyPicture } from './ready-picture.ts';
import { runStrips } from './run-strips.ts';
import type { StripRunner } from './runner.ts';
import { addStats, emptyStats, type ProofSummary, summarise } from './statistics.ts';
import type { StripCollect, StripResult } from './strip-task.ts';
import type { CellGrid } from './windows.ts';

export interface ProofRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly collect: StripCollect;
}

export interface ProofHooks {
  /** The size of the proof, before its first strip. */
  readonly onGrid?: (grid: { width: number; height: number; pitchMm: number }) => void;
  /** The picture as the first pass burns it, before its first strip. */
  readonly onTone?: (tone: ToneImage) => void;
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
  /** The places of a cell that are burned. */
  readonly subCells: (piece: Piece) => SubCells;
}

export const PROOF_PIPELINE_DEFAULTS: ProofPipelineOptions = { stripRows: 64, subCells };

/** Computes proofs; keeps what a later one can use again. */
export interface ProofPipeline {
  /** @throws Cancelled if told to stop; RangeError for a piece that cannot be burned. */
  proof(request: ProofRequest, runner: StripRunner, hooks?: ProofHooks): Promise<Proof>;
  /** Burns a part of the picture only, as it would come out in a proof of all of it. Throws as `proof` does. */
  crop(request: CropRequest, runner: StripRunner, hooks?: CropHooks): Promise<CropProof>;
  appearance(piece: Piece): AppearanceTable;
  /** All of a proof but the burn: what a sample of the picture is taken from. Throws as `proof` does. */
  ready(
    request: Pick<ProofRequest, 'piece' | 'photo'>,
    hooks?: Pick<ProofHooks, 'shouldStop' | 'breathe'>,
  ): Promise<ReadyPicture>;
  /** The picture as the first pass burns it, before it is screened; heeds nobody's wish to stop. */
  prepared(piece: Piece, photo: Photo): ToneImage;
}

const NOTHING: StripCollect = { surface: false, fields: false, painted: false };

export function createProofPipeline(asked: Partial<ProofPipelineOptions> = {}): ProofPipeline {
  const options = { ...PROOF_PIPELINE_DEFAULTS, ...asked };
  let stopNow: () => boolean = () => false;
  const preparation = createPreparation(() => stopNow());
  const tables = createMemo<AppearanceTable>(4);
  const appearance = (piece: Piece) =>
    tables(JSON.stringify([piece.stack.coats.map(lookOf), piece.slab.wood, piece.machine.airFlow]), () =>
      buildAppearance(piece.stack, piece.slab.wood, piece.machine.airFlow),
    );

  async function proof(request: ProofRequest, runner: StripRunner, hooks: ProofHooks = {}): Promise<Proof> {
    const now = hooks.now ?? (() => 0);
    const shouldStop = hooks.shouldStop ?? (() => false);
    const stagesMs: Record<string, number> = {};
    const heeding = stageOf(hooks);
    const timed = <Value>(stage: string, make: () => Value): Promise<Value> => {
      hooks.onProgress?.(0, stage);
      return heeding(stage, () => {
        const start = now();
        const value = make();
        stagesMs[stage] = (stagesMs[stage] ?? 0) + now() - start;
        return value;
      });
    };

    const ready = await readyPicture(stages, request, {
      stage: timed,
      onTone: (tone, { width, height, pitchMm }) => {
        hooks.onGrid?.({ width, height, pitchMm });
        hooks.onTone?.(tone);
      },
    });
    const { tone, whole: grid, screened, passes, job, direction } = ready;

    const burnStart = now();
    const stats = emptyStats();
    let backend: string = runner.description;
    const lightens = direction === 'lightens';
    await runStrips(
      runner,
      { job, grid, screened, tone, lightens, stripRows: options.stripRows },
      {
        shouldStop,
        onShare: (share) => hooks.onProgress?.(share, 'burn'),
        onStrip: (strip) => {
          addStats(stats, strip.stats);
          backend = strip.backend;
          hooks.onStrip?.(strip);
        },
      },
    );
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
      backend: `${backend}: ${runner.description}`,
      stagesMs,
    };
  }
  /** A stage that heeds one wish to stop among several proofs and crops that may be under way. */
  function inBetween<Value>(shouldStop: () => boolean, make: () => Value): Value {
    const stopProof = stopNow;
    stopNow = shouldStop;
    try {
      return make();
    } finally {
      stopNow = stopProof;
    }
  }
  const prepared = (piece: Piece, photo: Photo): ToneImage =>
    inBetween(
      () => false,
      () => preparation.tone(photo, piece, piece.passes[0].rowPitchMm, piece.picture.tone),
    );
  /** Runs stages that heed a wish to stop and let messages come in between. */
  const stageOf =
    ({ shouldStop = () => false, breathe }: Pick<ProofHooks, 'shouldStop' | 'breathe'>): ReadyHooks['stage'] =>
    async (_, make) => {
      await breathe?.();
      if (shouldStop()) throw new Cancelled();
      return inBetween(shouldStop, make);
    };
  const stages = { preparation, appearance, subCells: options.subCells };
  const ready: ProofPipeline['ready'] = (request, hooks = {}) =>
    readyPicture(stages, { ...request, collect: NOTHING }, { stage: stageOf(hooks) });
  const crop = (request: CropRequest, runner: StripRunner, hooks: CropHooks = {}): Promise<CropProof> =>
    burnCrop(stages, request, runner, stageOf(hooks), hooks);
  return { proof, ready, crop, appearance, prepared };
}

/** What of a coat decides its colour. */
export const lookOf = ({ colorLab, scatteringPerMm, dryThicknessUm, absorptance, scorchOnsetJPerMm2 }: Coat) => [
  colorLab,
  scatteringPerMm,
  dryThicknessUm,
  absorptance,
  scorchOnsetJPerMm2,
];
