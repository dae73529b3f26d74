import { Cancelled } from '../core/cancelled.ts';
import type { AppearanceTable } from '../core/material/appearance.ts';
import type { Piece } from '../core/piece/schema.ts';
import { drawPiece, type Spread } from '../core/quality/spread.ts';
import { burnsAt, type CoarseScene, lightThreshold } from './coarse.ts';
import type { StripRunner } from './runner.ts';
import { burnToneScale, TONE_SCALE_DEFAULTS, type ToneScale, toneScaleAt } from './tone-scale.ts';

/** How sure the uncleared share is. Shares 0–1. */
export interface ClearingOdds {
  /** Ends of the middle eight tenths of the draws, and their middle. */
  readonly low: number;
  readonly middle: number;
  readonly high: number;
  /** Share of the draws in which the light areas clear. */
  readonly clears: number;
  readonly draws: number;
}

/** Light areas with a smaller uncleared share than this count as cleared. */
export const CLEARED_SHARE = 0.05;

const TONE_BINS = 64;
const FILM_BINS = 37;

/**
 * Burns the tone scale of many pieces that this one may truly be and asks of each how much of the light areas stays uncleared, given
 * where the film is thick. `onDraw` is awaited between draws.
 * @throws Cancelled if told to stop. Returns null if the picture has no light areas.
 */
export async function clearingOdds(
  piece: Piece,
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: StripRunner,
  spread: Spread,
  draws: number,
  onDraw: () => Promise<boolean> = async () => true,
): Promise<ClearingOdds | null> {
  const counts = lightCounts(piece, scene);
  const total = counts.reduce((sum, count) => sum + count, 0);
  if (total === 0) return null;
  const shares: number[] = [];
  for (let draw = 0; draw < draws; draw++) {
    if (!(await onDraw())) throw new Cancelled();
    const scale = await burnToneScale(drawPiece(piece, spread, draw), appearance, runner);
    shares.push(unclearedShare(scale, counts, total));
  }
  shares.sort((a, b) => a - b);
  const at = (share: number) => shares[Math.min(draws - 1, Math.floor(share * draws))];
  return {
    low: at(0.1),
    middle: at(0.5),
    high: at(0.9),
    clears: shares.filter((share) => share < CLEARED_SHARE).length / draws,
    draws,
  };
}

/** How many places of the light areas there are per tone and film, `[film · TONE_BINS + tone]`. */
function lightCounts(piece: Piece, scene: CoarseScene): Float64Array {
  const counts = new Float64Array(TONE_BINS * FILM_BINS);
  const from = lightThreshold(piece);
  const { films } = TONE_SCALE_DEFAULTS;
  const [lowest, highest] = [films[0], films[films.length - 1]];
  for (let i = 0; i < scene.film.length; i++) {
    if (scene.lightness[i] < from || !burnsAt(scene, i)) continue;
    const tone = Math.round(scene.lightness[i] * (TONE_BINS - 1));
    const place = Math.min(1, Math.max(0, (scene.film[i] - lowest) / (highest - lowest)));
    counts[Math.round(place * (FILM_BINS - 1)) * TONE_BINS + tone]++;
  }
  return counts;
}

function unclearedShare(scale: ToneScale, counts: Float64Array, total: number): number {
  let sum = 0;
  for (let film = 0; film < FILM_BINS; film++) {
    for (let tone = 0; tone < TONE_BINS; tone++) {
      const count = counts[film * TONE_BINS + tone];
      if (count === 0) continue;
      sum += count * toneScaleAt(scale, tone / (TONE_BINS - 1), film / (FILM_BINS - 1))(scale.uncleared);
    }
  }
  return sum / total;
}
