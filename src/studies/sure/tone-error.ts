import { linearRgbToLab } from '../../base/color/lab.ts';
import { directionOf } from '../../burn/prepare.ts';
import { type AppearanceTable, appearanceLab, intactRgb } from '../../physics/material/appearance.ts';
import type { Piece } from '../../piece/schema.ts';

/** L* that the stack can show: what stays unburned, and what lies open. */
export interface StackRange {
  readonly darkest: number;
  readonly lightest: number;
}

/**
 * Range of what the stack can show at all; of two coats and more that is top coat and undercoat, whatever the passes do.
 * @param lightness L* of what some burn of it shows.
 */
export function stackRange(piece: Piece, appearance: AppearanceTable, lightness: readonly number[]): StackRange {
  const lowest = Math.min(...lightness);
  const highest = Math.max(...lightness);
  const [, under] = piece.stack.coats;
  if (directionOf(piece) !== 'lightens' || !under) return { darkest: lowest, lightest: highest };
  const [open] = appearanceLab(appearance, 1, under.dryThicknessUm);
  const [intact] = linearRgbToLab(intactRgb(appearance, piece.stack));
  return { darkest: Math.min(lowest, intact), lightest: Math.max(highest, open) };
}

/** Places of one tone: lightness wanted and what they came out as, L*, and how many there are. */
interface ToneZone {
  readonly wanted: number;
  readonly predicted: number;
  readonly count: number;
}

export interface ToneError {
  /** Root of the mean square over all places, and the largest error of a tone that is not rare, L*. */
  readonly rms: number;
  readonly max: number;
  /** Mean error (predicted − wanted) in fifths of the range wanted, from the darkest, with the share of the places in each. */
  readonly zones: readonly { readonly error: number; readonly share: number }[];
}

const FIFTHS = 5;

/** Tones that fewer of the places have do not count for the largest error. */
const RARE_SHARE = 0.005;

/** Tone reproduction: L* wanted against L* predicted, over the whole picture and by zone of tone. */
export function toneError(tones: readonly ToneZone[]): ToneError {
  const seen = tones.filter(({ count }) => count > 0);
  const total = seen.reduce((sum, { count }) => sum + count, 0);
  if (total === 0) return { rms: 0, max: 0, zones: [] };
  const wanted = seen.map((tone) => tone.wanted);
  const low = Math.min(...wanted);
  const span = Math.max(...wanted) - low || 1;
  let squares = 0;
  let max = 0;
  const zones = Array.from({ length: FIFTHS }, () => ({ error: 0, share: 0 }));
  for (const tone of seen) {
    const error = tone.predicted - tone.wanted;
    squares += tone.count * error * error;
    if (tone.count >= RARE_SHARE * total) max = Math.max(max, Math.abs(error));
    const zone = zones[Math.min(FIFTHS - 1, Math.floor((FIFTHS * (tone.wanted - low)) / span))];
    zone.error += tone.count * error;
    zone.share += tone.count;
  }
  for (const zone of zones) {
    if (zone.share > 0) zone.error /= zone.share;
    zone.share /= total;
  }
  return { rms: Math.sqrt(squares / total), max, zones };
}
