import { Cancelled } from '../core/cancelled.ts';
import type { AppearanceTable } from '../core/material/appearance.ts';
import type { Piece } from '../core/piece/schema.ts';
import { drawPiece } from '../core/quality/spread.ts';
import { lightThreshold } from './coarse.ts';
import { burnsAt, type CoarseScene } from './coarse-scene.ts';
import type { StripRunner } from './runner.ts';
import { burnToneScale, TONE_SCALE_DEFAULTS, type ToneScale, toneScaleAt } from './tone-scale.ts';

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

const TONE_BINS = 64;
const FILM_BINS = 37;
const BINS = TONE_BINS * FILM_BINS;

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
  const counts = countBins(scene, bins, () => true);
  const lightCounts = countBins(scene, bins, (i) => scene.lightness[i] >= lightFrom);
  const shares: { uncleared: number; residueUm: number; scorched: number }[] = [];
  const unclearedOdds = new Float64Array(BINS);
  const scorchedOdds = new Float64Array(BINS);
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
    for (let i = 0; i < BINS; i++) {
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

/** Bin of tone and film of each place, `film · TONE_BINS + tone`; −1 where nothing burns or no coat lies. */
function binsOf(scene: CoarseScene): Int32Array {
  const { films } = TONE_SCALE_DEFAULTS;
  const [lowest, highest] = [films[0], films[films.length - 1]];
  const { film } = scene.ground;
  return Int32Array.from(film, (thickness, i) => {
    if (thickness === 0 || !burnsAt(scene, i)) return -1;
    const tone = Math.round(scene.lightness[i] * (TONE_BINS - 1));
    const place = Math.min(1, Math.max(0, (thickness - lowest) / (highest - lowest)));
    return Math.round(place * (FILM_BINS - 1)) * TONE_BINS + tone;
  });
}

function countBins(scene: CoarseScene, bins: Int32Array, counts: (i: number) => boolean): Float64Array {
  const sum = new Float64Array(BINS);
  for (let i = 0; i < scene.lightness.length; i++) if (bins[i] >= 0 && counts(i)) sum[bins[i]]++;
  return sum;
}

function inBins(scale: ToneScale, values: Float32Array): Float64Array {
  return Float64Array.from({ length: BINS }, (_, bin) => {
    const film = Math.floor(bin / TONE_BINS);
    return toneScaleAt(scale, (bin % TONE_BINS) / (TONE_BINS - 1), film / (FILM_BINS - 1))(values);
  });
}

function meanOver(values: Float64Array, counts: Float64Array): number {
  let sum = 0;
  let total = 0;
  for (let i = 0; i < BINS; i++) {
    sum += counts[i] * values[i];
    total += counts[i];
  }
  return total > 0 ? sum / total : 0;
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
