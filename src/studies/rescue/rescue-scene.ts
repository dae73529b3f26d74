import { breathe } from '../../base/stop.ts';
import { CLEARED_SHARE, LIGHT_AREA_LIGHTNESS, SCORCHED_SHARE } from '../../burn/clearing.ts';
import { binsOf, type CoarsePipeline, countBins } from '../../burn/coarse.ts';
import type { Photo } from '../../burn/prepare.ts';
import type { ProofPipeline } from '../../burn/proof.ts';
import type { ReadyPicture } from '../../burn/ready-picture.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import {
  burnToneScale,
  type CoarseScene,
  TONE_SCALE_DEFAULTS,
  type ToneScale,
  type ToneScaleOptions,
} from '../../burn/tone-scale.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import { adjustedLightness } from '../../image/tone.ts';
import { type AppearanceTable, burnDirection } from '../../physics/material/appearance.ts';
import { burnSpread, type CropBox } from '../../piece/frame.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Band } from '../sure/how-sure.ts';
import type { Outcome } from '../sure/judge.ts';
import { type Weighted, weightedMean, weightedQuantile } from '../sure/spread.ts';

/** What a search for a further pass, or for what a test strip tells, works on. */
export interface RescueScene {
  readonly piece: Piece;
  readonly scene: CoarseScene;
  /** How far the scene reaches beyond the picture (`burnSpread`). */
  readonly spread: ReturnType<typeof burnSpread>;
  /** Bin of tone and film of each place (`coarse.ts`), and the places per bin: all and the light areas. */
  readonly bins: Int32Array;
  readonly all: Float64Array;
  readonly light: Float64Array;
  /** Even patches of the piece with other numbers or passes; `fine` for the last word. @throws Cancelled if told to stop. */
  burn(piece: Piece, fine?: 'fine'): Promise<ToneScale>;
}

const { films } = TONE_SCALE_DEFAULTS;

/** Close films, because a coat clears within a few per cent of its thickness; from the first to the last of the usual ones. */
const closeFilms = Array.from({ length: 11 }, (_, i) => films[0] + ((films[films.length - 1] - films[0]) * i) / 10);

const COARSE_SCALE: ToneScaleOptions = { tones: 7, films: closeFilms, patchDots: 6 };

const FINE_SCALE: ToneScaleOptions = { tones: 13, films: closeFilms, patchDots: 6 };

export interface RescueTools {
  readonly coarse: CoarsePipeline;
  readonly appearance: (piece: Piece) => AppearanceTable;
  /** All of a proof but the burn. */
  readonly ready: (piece: Piece, photo: Photo) => Promise<ReadyPicture>;
  readonly runner: SwathRunner;
  readonly signal?: AbortSignal;
}

/** The tools of one pipeline and one runner. */
export const rescueTools = (
  pipeline: ProofPipeline,
  coarse: CoarsePipeline,
  runner: SwathRunner,
  signal?: AbortSignal,
): RescueTools => ({
  coarse,
  appearance: pipeline.appearance,
  ready: (piece, photo) => pipeline.ready({ piece, photo }, signal, runner),
  runner,
  signal,
});

/**
 * `within`: only this part of the placed picture counts.
 * @throws RangeError if there is nothing that could be cleared: the stack darkens where it is burned, or no part of the picture is light.
 */
export function createRescueScene(
  piece: Piece,
  photo: Photo,
  tools: RescueTools,
  within: CropBox | null = null,
): RescueScene {
  if (burnDirection(piece.stack, piece.slab.wood) !== 'lightens') {
    throw new RangeError('this stack darkens where it is burned: there is no dark coat to clear off a lighter one');
  }
  const scene = tools.coarse.scene(piece, photo);
  const burned = adjustedLightness(piece.picture.tone);
  const bins = binsOf(scene);
  if (within) leaveOutBeyond(bins, scene, within);
  const light = countBins(bins, (i) => burned(scene.lightness[i]) >= LIGHT_AREA_LIGHTNESS);
  if (!light.some((count) => count > 0)) {
    throw new RangeError('no part of this picture is light enough to be meant to come out clear');
  }
  return {
    piece,
    scene,
    spread: burnSpread(piece, photo.picture),
    bins,
    all: countBins(bins),
    light,
    async burn(other, fine) {
      await breathe(tools.signal);
      // Asked of the piece itself, whose coats are laid already.
      const warmthsK = tools.coarse.warmthsK({ ...piece, passes: other.passes }, photo);
      return burnToneScale(other, tools.appearance(piece), tools.runner, warmthsK, fine ? FINE_SCALE : COARSE_SCALE);
    },
  };
}

/** L* of a patch of a tone scale. */
export const patchLightness = ({ rgb }: Pick<ToneScale, 'rgb'>, at: number): number =>
  100 * luminanceToLightness(0.2126 * rgb[3 * at] + 0.7152 * rgb[3 * at + 1] + 0.0722 * rgb[3 * at + 2]);

function leaveOutBeyond(
  bins: Int32Array,
  { width, pitchMm }: CoarseScene,
  { xMm, yMm, widthMm, heightMm }: CropBox,
): void {
  for (let i = 0; i < bins.length; i++) {
    const x = ((i % width) + 0.5) * pitchMm - xMm;
    const y = (Math.floor(i / width) + 0.5) * pitchMm - yMm;
    if (x < 0 || y < 0 || x >= widthMm || y >= heightMm) bins[i] = -1;
  }
}

/** What of the picture, in bands over the draws (`how-sure.ts`). */
export interface RescueState {
  readonly uncleared: Band;
  readonly residueUm: Band;
  readonly scorched: Band;
  /** Share of the draws that clear, and that scorch. */
  readonly clears: number;
  readonly scorches: number;
}

export function stateOf(outcomes: readonly Weighted<Outcome>[]): RescueState {
  const values = (of: (outcome: Outcome) => number) =>
    outcomes.map(({ value, weight }) => ({ value: of(value), weight }));
  const band = (of: (outcome: Outcome) => number): Band => ({
    low: weightedQuantile(values(of), 0.1),
    middle: weightedQuantile(values(of), 0.5),
    high: weightedQuantile(values(of), 0.9),
  });
  return {
    uncleared: band(({ uncleared }) => uncleared),
    residueUm: band(({ residueUm }) => residueUm),
    scorched: band(({ scorched }) => scorched),
    clears: weightedMean(values(({ uncleared }) => (uncleared < CLEARED_SHARE ? 1 : 0))),
    scorches: weightedMean(values(({ scorched }) => (scorched >= SCORCHED_SHARE ? 1 : 0))),
  };
}
