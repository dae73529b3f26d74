import { linearRgbToLab } from '../base/color/lab.ts';
import { breathe } from '../base/stop.ts';
import { fitRising } from '../image/repair/fade.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import { NEUTRAL_TONE } from '../piece/defaults.ts';
import type { Piece, Tone } from '../piece/schema.ts';
import type { SwathRunner } from './runner.ts';
import { burnToneScale } from './tone-scale.ts';

export interface FitTonesOptions {
  /** How often the fitted curve is burned and mended. */
  readonly rounds: number;
  /** How warm each pass finds the work; cold where left out. */
  readonly warmthsK: readonly number[];
  readonly signal?: AbortSignal;
}

const FIT_TONES_DEFAULTS: FitTonesOptions = { rounds: 4, warmthsK: [] };

export interface FittedTones {
  /** For `Tone.curve`: 17 points, the first at 0 and the last at 1. */
  readonly curve: [number, number][];
  /** What the stack can show with these passes, L*. */
  readonly darkest: number;
  readonly lightest: number;
  /** L* of 17 even steps of the photo through the curve, what it should be, and the largest distance between the two. */
  readonly steps: readonly number[];
  /** Their colours, linear sRGB, three values each. */
  readonly rgb: Float32Array;
  readonly wanted: readonly number[];
  readonly unevenness: number;
}

const STEPS = 17;
/** Patches of the first scale and dots along their side: every level of graded power; for dots fewer, but larger ones. */
const GRADED = { tones: 256, films: [1], patchDots: 10 };
const DOTTED = { tones: 65, films: [1], patchDots: 32 };
/** One dot more or less in a patch of 48 × 48 is 0.04 % of its area, 0.12 L* in the darkest tones. */
const MENDED = { tones: STEPS, films: [1], patchDots: 48 };
/** L* by which neither end of the stack's range can be told from the end itself. */
const SAME = 0.1;

/**
 * Turns the stack's own tone scale round: the tone curve with which equal steps of the photo become equal steps of lightness on
 * the slab. Even patches are burned with straight tones, L* over tone is made rising and inverted at 17 places; then the curve is
 * burned itself and each place moved by what is missing over the scale's slope, since a screen's dots depend on their neighbours.
 * The best of all rounds counts. White keeps the light end's whole power, so that thicker places of the film clear too, and
 * black the dark end's. Works for stacks that darken; if the powers are the wrong way round the curve falls.
 *
 * What limits it is how finely the proof tells tones apart: 255 levels of graded power, the number of a screen's tones, the
 * appearance table's steps. Measured in test/unit/fit-tones.test.ts.
 * Passes with tones of their own keep them. The curve is for tones whose curve it replaces: exposure, contrast and gamma come first.
 * @param piece its curve and other tone controls do not matter.
 * @throws Cancelled.
 */
export async function fitTones(
  piece: Piece,
  appearance: AppearanceTable,
  runner: SwathRunner,
  options: Partial<FitTonesOptions> = {},
): Promise<FittedTones> {
  const { rounds, warmthsK, signal } = { ...FIT_TONES_DEFAULTS, ...options };
  const measure = async (curve: Tone['curve'], how: typeof DOTTED): Promise<{ steps: number[]; rgb: Float32Array }> => {
    await breathe(signal);
    const toned = { ...piece, picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, curve } } };
    const { rgb, tones } = await burnToneScale(toned, appearance, runner, warmthsK, how);
    return { steps: tones.map((_, i) => linearRgbToLab([rgb[3 * i], rgb[3 * i + 1], rgb[3 * i + 2]])[0]), rgb };
  };

  const graded = piece.passes.every((pass) => pass.screen === 'continuous');
  const scale = invertible((await measure([], graded ? GRADED : DOTTED)).steps);
  const { darkest, lightest } = scale;
  const places = Array.from({ length: STEPS }, (_, i) => i / (STEPS - 1));
  const wanted = places.map((x) => darkest + (lightest - darkest) * x);
  const inner = wanted.map((value) => value > darkest + SAME && value < lightest - SAME);
  let values = wanted.map((value, i) => (inner[i] ? scale.toneAt(value) : endOf(scale, value)));

  const rise = (tones: readonly number[]) =>
    scale.falling ? fitRising(tones.map((v) => -v)).map((v) => -v) : fitRising(tones);
  let best: FittedTones | null = null;
  /** The nearest that each place has come, and with which tone. */
  const nearest = places.map((_, i) => ({ off: Number.POSITIVE_INFINITY, value: values[i] }));
  for (let round = 0; round <= rounds; round++) {
    // A screen's tones are steps, and what is mended may jump from one to the next: last of all each place gets the best it had.
    if (round > 1 && round === rounds) values = rise(nearest.map(({ value }) => value));
    const curve = places.map((x, i): [number, number] => [x, values[i]]);
    const { steps, rgb } = await measure(curve, MENDED);
    const missing = steps.map((value, i) => wanted[i] - value);
    const unevenness = Math.max(...missing.map(Math.abs));
    if (!best || unevenness < best.unevenness) best = { curve, darkest, lightest, steps, rgb, wanted, unevenness };
    const moved = places.map((_, i) => {
      if (!inner[i]) return values[i];
      if (Math.abs(missing[i]) < nearest[i].off) nearest[i] = { off: Math.abs(missing[i]), value: values[i] };
      const aim = scale.lightnessAt(values[i]) + missing[i];
      return scale.toneAt(Math.min(lightest, Math.max(darkest, aim)));
    });
    values = rise(moved);
  }
  return best as FittedTones;
}

interface Scale {
  readonly darkest: number;
  readonly lightest: number;
  readonly falling: boolean;
  /** Tones at the dark and at the light end. */
  readonly darkTone: number;
  readonly lightTone: number;
  lightnessAt(tone: number): number;
  toneAt(lightness: number): number;
}

/** Tone of a place whose wanted L* is one end of the range. */
const endOf = (scale: Scale, wanted: number): number =>
  2 * wanted < scale.darkest + scale.lightest ? scale.darkTone : scale.lightTone;

/** L* over even steps of tone as a rising function between its darkest and its lightest tone, and back. */
function invertible(measured: readonly number[]): Scale {
  const last = measured.length - 1;
  const falling = measured[last] < measured[0];
  const rising = falling ? measured.toReversed() : measured;
  // Beyond its lightest tone a stack scorches and darkens: the end is the last tone that is as light.
  const top = rising.findLastIndex((value) => value >= Math.max(...rising) - SAME);
  const head = rising.slice(0, top + 1);
  const bottom = head.findIndex((value) => value <= Math.min(...head) + SAME);
  const values = fitRising(head.slice(bottom));
  const toneOf = (place: number) => (falling ? last - bottom - place : bottom + place) / last;
  const end = values.length - 1;
  return {
    darkest: values[0],
    lightest: values[end],
    falling,
    darkTone: toneOf(0),
    lightTone: toneOf(end),
    lightnessAt(tone) {
      const place = Math.min(end, Math.max(0, (falling ? last - tone * last : tone * last) - bottom));
      const i = Math.min(end, Math.floor(place));
      return values[i] + (values[Math.min(end, i + 1)] - values[i]) * (place - i);
    },
    toneAt(lightness) {
      const after = values.findIndex((value) => value >= lightness);
      if (after <= 0) return toneOf(after < 0 ? end : 0);
      const [low, high] = [values[after - 1], values[after]];
      return toneOf(after - 1 + (lightness - low) / (high - low));
    },
  };
}
