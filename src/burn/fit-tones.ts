import { linearRgbToLab } from '../base/color/lab.ts';
import { breathe } from '../base/stop.ts';
import { fitRising } from '../image/repair/fade.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import { NEUTRAL_TONE } from '../piece/defaults.ts';
import type { Piece, Tone } from '../piece/schema.ts';
import type { SwathRunner } from './runner.ts';
import { burnToneScale } from './tone-scale.ts';

/**
 * How the photo's lightness is laid onto what the stack can show. Perceptual: black to its darkest, white to its lightest, even in
 * between (black-point compensation). Relative: L* is kept, and what the stack cannot reach is clipped.
 */
export type ToneIntent = 'perceptual' | 'relative';

export interface FitTonesOptions {
  readonly intent: ToneIntent;
  /** How often the fitted curve is burned and mended. */
  readonly rounds: number;
  /** How warm each pass finds the work; cold where left out. */
  readonly warmthsK: readonly number[];
  readonly signal?: AbortSignal;
}

const FIT_TONES_DEFAULTS: FitTonesOptions = { intent: 'perceptual', rounds: 4, warmthsK: [] };

export interface FittedTones {
  /** For `Tone.curve`: 17 points, the first at 0 and the last at 1. */
  readonly curve: [number, number][];
  /** What the stack can show with these passes, L*. */
  readonly darkest: number;
  readonly lightest: number;
  /** L* of 17 even steps of the photo through the curve, what it should be, and the largest distance between the two. */
  readonly steps: readonly number[];
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
  const { intent, rounds, warmthsK, signal } = { ...FIT_TONES_DEFAULTS, ...options };
  const measure = async (curve: Tone['curve'], how: typeof DOTTED): Promise<number[]> => {
    await breathe(signal);
    const toned = { ...piece, picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, curve } } };
    const { rgb, tones } = await burnToneScale(toned, appearance, runner, warmthsK, how);
    return tones.map((_, i) => linearRgbToLab([rgb[3 * i], rgb[3 * i + 1], rgb[3 * i + 2]])[0]);
  };

  const graded = piece.passes.every((pass) => pass.screen === 'continuous');
  const scale = invertible(await measure([], graded ? GRADED : DOTTED));
  const { darkest, lightest } = scale;
  const places = placesFor(intent, darkest, lightest);
  const wantedAt = (x: number) => wantedLightness(intent, x, darkest, lightest);
  const inner = places.map((x) => wantedAt(x) > darkest + SAME && wantedAt(x) < lightest - SAME);
  let values = places.map((x, i) => (inner[i] ? scale.toneAt(wantedAt(x)) : endOf(scale, x, wantedAt(x))));

  const rise = (tones: readonly number[]) =>
    scale.falling ? fitRising(tones.map((v) => -v)).map((v) => -v) : fitRising(tones);
  let best: FittedTones | null = null;
  /** The nearest that each place has come, and with which tone. */
  const nearest = places.map((_, i) => ({ off: Number.POSITIVE_INFINITY, value: values[i] }));
  const wanted = Array.from({ length: STEPS }, (_, i) => wantedAt(i / (STEPS - 1)));
  for (let round = 0; round <= rounds; round++) {
    // A screen's tones are steps, and what is mended may jump from one to the next: last of all each place gets the best it had.
    if (round > 1 && round === rounds) values = rise(nearest.map(({ value }) => value));
    const curve = places.map((x, i): [number, number] => [x, values[i]]);
    const steps = await measure(curve, MENDED);
    const missing = steps.map((value, i) => wanted[i] - value);
    const unevenness = Math.max(...missing.map(Math.abs));
    if (!best || unevenness < best.unevenness) best = { curve, darkest, lightest, steps, wanted, unevenness };
    const moved = places.map((x, i) => {
      if (!inner[i]) return values[i];
      const at = x * (STEPS - 1);
      const step = Math.min(STEPS - 2, Math.floor(at));
      const lacking = missing[step] + (missing[step + 1] - missing[step]) * (at - step);
      if (Math.abs(lacking) < nearest[i].off) nearest[i] = { off: Math.abs(lacking), value: values[i] };
      const aim = scale.lightnessAt(values[i]) + lacking;
      return scale.toneAt(Math.min(lightest, Math.max(darkest, aim)));
    });
    values = rise(moved);
  }
  return best as FittedTones;
}

function wantedLightness(intent: ToneIntent, x: number, darkest: number, lightest: number): number {
  if (intent === 'perceptual') return darkest + (lightest - darkest) * x;
  return Math.min(lightest, Math.max(darkest, 100 * x));
}

/** Where the curve has its points: evenly, or evenly between the two places from which on the relative intent clips. */
function placesFor(intent: ToneIntent, darkest: number, lightest: number): number[] {
  const even = (count: number, from: number, to: number) =>
    Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));
  if (intent === 'perceptual') return even(STEPS, 0, 1);
  const middle = even(STEPS - 2, darkest / 100, lightest / 100);
  return [0, ...middle.filter((x) => x > 0 && x < 1), 1];
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
const endOf = (scale: Scale, x: number, wanted: number): number =>
  x === 0 || 2 * wanted < scale.darkest + scale.lightest ? scale.darkTone : scale.lightTone;

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
