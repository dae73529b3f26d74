import { Cancelled } from '../core/cancelled.ts';
import type { AppearanceTable } from '../core/material/appearance.ts';
import type { Piece } from '../core/piece/schema.ts';
import { drawPiece } from '../core/quality/spread.ts';
import { lightThreshold } from './coarse.ts';
import type { CoarseScene } from './coarse-scene.ts';
import type { StripRunner } from './runner.ts';
import { binsOf, countBins, inBins, meanOver, SCENE_BINS } from './scene-bins.ts';
import { burnToneScale } from './tone-scale.ts';

/** Ends of the middle eight tenths of the draws, and their middle. */
export interface Band {
  readonly low: number;
  readonly middle: number;
  readonly high: number;
}

/** How sure a proof is. Shares 0–1. */
export interface HowSure {
  /** Bands of what the proof's summary gives; null where the picture has no light areas. */
  readonly uncleared: Band | null;
  readonly residueUm: Band | null;
  readonly scorched: Band;
  /** Share of the draws in which the light areas clear; null without any. */
  readonly clears: number | null;
  /** Share of the draws in which less than `SCORCHED_SHARE` of the picture scorches. */
  readonly staysUnscorched: number;
  readonly draws: number;
  readonly map: OddsMap;
}

/** Per cell of the quick look, 0–255: how likely a light place stays uncleared, and how likely a place scorches. */
export interface OddsMap {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly uncleared: Uint8Array;
  readonly scorched: Uint8Array;
}

/** Light areas with a smaller uncleared share than this count as cleared. */
export const CLEARED_SHARE = 0.05;
/** A picture with a smaller scorched share than this counts as not scorched. */
export const SCORCHED_SHARE = 0.005;

/**
 * Burns the tone scale of many pieces that this one may truly be (`piece.certainty` says how far off they may lie) and asks of each what
 * comes of the picture, given where the film is thick. `warmthsK`: how warm each pass finds the work. `onDraw` is awaited between draws.
 * @throws Cancelled if told to stop.
 */
export async function howSure(
  piece: Piece,
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: StripRunner,
  { draws, warmthsK = [] }: { draws: number; warmthsK?: readonly number[] },
  onDraw: () => Promise<boolean> = async () => true,
): Promise<HowSure> {
  const bins = binsOf(scene);
  const lightFrom = lightThreshold(piece);
  const counts = countBins(bins);
  const lightCounts = countBins(bins, (i) => scene.lightness[i] >= lightFrom);
  const shares: { uncleared: number; residueUm: number; scorched: number }[] = [];
  const unclearedOdds = new Float64Array(SCENE_BINS);
  const scorchedOdds = new Float64Array(SCENE_BINS);
  for (let draw = 0; draw < draws; draw++) {
    if (!(await onDraw())) throw new Cancelled();
    const scale = await burnToneScale(drawPiece(piece, draw), appearance, runner, warmthsK);
    const [uncleared, residueUm, scorched] = [scale.uncleared, scale.residueUm, scale.scorchedShare].map((values) =>
      inBins(scale, values),
    );
    shares.push({
      uncleared: meanOver(uncleared, lightCounts),
      residueUm: meanOver(residueUm, lightCounts),
      scorched: meanOver(scorched, counts),
    });
    for (let i = 0; i < SCENE_BINS; i++) {
      unclearedOdds[i] += uncleared[i] / draws;
      scorchedOdds[i] += scorched[i] / draws;
    }
  }
  const lit = lightCounts.some((count) => count > 0);
  const bandOf = (pick: (one: (typeof shares)[number]) => number) => band(shares.map(pick));
  const shareOf = (test: (one: (typeof shares)[number]) => boolean) => shares.filter(test).length / draws;
  return {
    uncleared: lit ? bandOf(({ uncleared }) => uncleared) : null,
    residueUm: lit ? bandOf(({ residueUm }) => residueUm) : null,
    scorched: bandOf(({ scorched }) => scorched),
    clears: lit ? shareOf(({ uncleared }) => uncleared < CLEARED_SHARE) : null,
    staysUnscorched: shareOf(({ scorched }) => scorched < SCORCHED_SHARE),
    draws,
    map: oddsMap(scene, bins, unclearedOdds, scorchedOdds, lightFrom),
  };
}

function band(values: number[]): Band {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
  return { low: at(0.1), middle: at(0.5), high: at(0.9) };
}

function oddsMap(
  { width, height, pitchMm, lightness }: CoarseScene,
  bins: Int32Array,
  unclearedOdds: Float64Array,
  scorchedOdds: Float64Array,
  lightFrom: number,
): OddsMap {
  const uncleared = new Uint8Array(bins.length);
  const scorched = new Uint8Array(bins.length);
  for (let i = 0; i < bins.length; i++) {
    if (bins[i] < 0) continue;
    if (lightness[i] >= lightFrom) uncleared[i] = 255 * unclearedOdds[bins[i]] + 0.5;
    scorched[i] = 255 * scorchedOdds[bins[i]] + 0.5;
  }
  return { width, height, pitchMm, uncleared, scorched };
}
