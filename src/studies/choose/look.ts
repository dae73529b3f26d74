import { linearRgbToLab } from '../../base/color/lab.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { burnToneScale, type ToneScale } from '../../burn/tone-scale.ts';
import { fitRising } from '../../image/repair/fade.ts';
import { type ScreenKind, screenOf } from '../../image/screens/screen-tone.ts';
import { spotRadii } from '../../physics/beam/gaussian.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { passTime } from '../../physics/raster/pass-time.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Motion, Pass, Piece } from '../../piece/schema.ts';
import { stackRange, toneError } from '../sure/tone-error.ts';
import { type Facts, TONE_BINS } from './facts.ts';
import { burnPatches, type Hardness, hardnessesOf, hardPiece, lightFloor, type Outcome, oddsOf } from './odds.ts';
import { EYE_BLUR_MM, screenGrain } from './search.ts';
import type { Trials } from './trials.ts';

/** Prepared lightnesses of the patches, and dots along their sides. */
const TONES = Array.from({ length: 9 }, (_, i) => i / 8);

const PATCH = 7;

/** Three-point Gauss–Hermite quadrature over what is not known: how far off, and how much each of the outer two counts. */
const HERMITE_Z = Math.sqrt(3);

const HERMITE_SHARE = 1 / 6;

const middleFilms = ({ films }: Facts): number[] =>
  films.length < 3
    ? [films[films.length >> 1]]
    : MIDDLE_PLACES.map((place) => films[Math.round(place * (films.length - 1))]);

/** Around these a quarter, a half and a quarter of the film lie. */
const MIDDLE_PLACES = [0.25, 0.5, 0.75];

const MIDDLE_SHARES = [0.25, 0.5, 0.25];

interface Look extends Pick<Outcome, 'qualityLossL' | 'toneErrorL' | 'grainL' | 'detailL'> {
  /** Fitted tone curve: lightness of the photo → prepared lightness. */
  curve(tone: number): number;
}

/** L* of a scale's patches, by film and tone. */
const lightnesses = ({ rgb, films, tones }: ToneScale): number[][] =>
  films.map((_, film) =>
    tones.map((_, tone) => {
      const at = 3 * (film * tones.length + tone);
      return linearRgbToLab([rgb[at], rgb[at + 1], rgb[at + 2]])[0];
    }),
  );

/** How a pass renders the picture's tones, grain and detail, and the tone curve that suits it. */
async function lookOf(
  trials: Trials,
  pass: Pass,
  solid: number,
  warmthsK: readonly number[],
  hardness: Hardness,
): Promise<Look> {
  const { facts, piece, endsL, lightens } = trials;
  const burned = (of: Piece, films: readonly number[]): Promise<ToneScale> =>
    burnPatches(of, pass, trials.appearance, trials.runner, warmthsK, { tones: TONES, films, patchDots: PATCH });
  const scale = await burned(piece, middleFilms(facts));
  const unknown: ToneScale[] = [];
  for (const z of hardness.deviation > 1e-6 ? [-HERMITE_Z, HERMITE_Z] : []) {
    unknown.push(await burned(hardPiece(piece, hardness, z), [1]));
  }
  const count = scale.tones.length;
  const films = lightnesses(scale);
  const others = unknown.map((one) => lightnesses(one)[0]);
  const middle = fitRising(films[films.length >> 1]);
  const [darkest, lightest] = [middle[0], middle[count - 1]];
  const curve = (tone: number): number => {
    const fitted = fittedTone(middle, darkest + (lightest - darkest) * tone);
    return lightens ? Math.max(fitted, lightFloor(tone, solid)) : fitted;
  };
  let squares = 0;
  for (let bin = 0; bin < TONE_BINS; bin++) {
    if (facts.tones[bin] === 0) continue;
    const tone = (bin + 0.5) / TONE_BINS;
    const wanted = endsL[0] + (endsL[1] - endsL[0]) * tone;
    const prepared = curve(tone);
    const values = films.map((one) => readAt(one, prepared));
    const weights = values.length === 3 ? MIDDLE_SHARES : [1];
    let square = values.reduce((sum, value, i) => sum + weights[i] * (value - wanted) ** 2, 0);
    const asGiven = readAt(films[films.length >> 1], prepared);
    for (const other of others) square += HERMITE_SHARE * (readAt(other, prepared) - asGiven) ** 2;
    squares += facts.tones[bin] * square;
  }
  const { alongMm, acrossMm } = spotRadii(piece.machine.source, pass);
  const beamMm = (alongMm + acrossMm) / 2;
  const toneErrorL = Math.sqrt(squares);
  const blurMm = Math.hypot(EYE_BLUR_MM, beamMm / 2);
  const grainL = screenGrain(pass.screen, blurMm / pass.rowPitchMm) * (lightest - darkest);
  const periodMm = Math.hypot(2 * pass.rowPitchMm * DOTS_PER_DETAIL[kindOf(pass)], BEAM_PERIODS * beamMm);
  const detailL = facts.octaveL * Math.sqrt(0.5 * Math.log2(1 + (periodMm / (2 * EYE_BLUR_MM)) ** 2));
  return { toneErrorL, grainL, detailL, qualityLossL: Math.hypot(toneErrorL, grainL, detailL), curve };
}

/** Period at which a Gaussian beam still shows half the contrast, in 1/e² radii: exp(−π²w²f²/2) = ½. */
const BEAM_PERIODS = Math.PI / Math.sqrt(2 * Math.LN2);

/** Dots that a detail needs, by kind of screen, over one in continuous tone (estimates). */
const DOTS_PER_DETAIL: Readonly<Record<ScreenKind, number>> = {
  'continuous tone': 1,
  'by the burn': 1.4,
  'error diffusion': 1.4,
  'blue noise': 1.6,
  ordered: 1.8,
  'clustered dot': 3,
};

const kindOf = ({ screen }: Pass): ScreenKind => screenOf(screen).kind;

/** A curve over even steps from 0 to 1. */
function readAt(values: readonly number[], place: number): number {
  const at = Math.min(1, Math.max(0, place)) * (values.length - 1);
  const i = Math.min(values.length - 2, Math.floor(at));
  return values[i] + (values[i + 1] - values[i]) * (at - i);
}

/** The tone that comes out so light. As in `fitTones`, what cannot be told from an end of the range is that end. */
function fittedTone(rising: readonly number[], wanted: number): number {
  const last = rising.length - 1;
  if (wanted > rising[last] - SAME_L) return 1;
  if (wanted < rising[0] + SAME_L) return 0;
  const after = rising.findIndex((one) => one >= wanted);
  const [low, high] = [rising[after - 1], rising[after]];
  return (after - 1 + (wanted - low) / (high - low)) / last;
}

const SAME_L = 0.1;

/** Minutes of a pass over the picture's extent: as the machine would travel it, but for dark edges and gaps that it may pass over. */
function passMinutes({ rowsMm: { binMm, first, end } }: Facts, pass: Pass, motion: Motion): number {
  const pitch = pass.rowPitchMm;
  const rows = Math.floor((first.length * binMm) / pitch);
  const firsts = new Int32Array(rows);
  const ends = new Int32Array(rows);
  const backwards = new Uint8Array(rows);
  const left = Math.min(...first.filter(Number.isFinite));
  let turned = 0;
  for (let row = 0; row < rows; row++) {
    const bin = Math.min(first.length - 1, Math.floor(((row + 0.5) * pitch) / binMm));
    if (end[bin] <= first[bin]) continue;
    firsts[row] = Math.round((first[bin] - left) / pitch);
    ends[row] = Math.round((end[bin] - left) / pitch);
    backwards[row] = turned;
    if (pass.rows === 'two-way') turned = 1 - turned;
  }
  return passTime({ first: firsts, end: ends, backwards }, pitch, pass, motion).timeS / 60;
}

/**
 * What a pass comes to, from a few burned patches: how light each tone gets, and how the burning end fares whatever the truth is.
 * @param solid as for `lightFloor`.
 */
export async function evaluate(trials: Trials, pass: Pass, solid = 0): Promise<Outcome> {
  const warmthsK = trials.warmthsK(pass);
  const hardnesses = hardnessesOf(trials.piece, pass, warmthsK[0] ?? 0);
  const { curve, ...losses } = await lookOf(trials, pass, solid, warmthsK, hardnesses.clearing);
  const odds = await oddsOf(trials, pass, warmthsK, hardnesses, curve);
  return { minutes: passMinutes(trials.facts, pass, trials.piece.machine.motion), ...losses, ...odds };
}

/** Even patches on which tones are proved, and dots along their sides. */
const PROVED = { tones: 33, patchDots: 16 };

/**
 * L* by which the picture's tones come out off, root mean square, if all numbers are as given: what a diagnosis of the finished proof says
 * (`proofToneError`), by even patches on the film that the picture has.
 */
export async function toneErrorAsGiven(
  piece: Piece,
  { tones, films, filmShares }: Pick<Facts, 'tones' | 'films' | 'filmShares'>,
  appearance: AppearanceTable,
  runner: SwathRunner,
  warmthsK: readonly number[],
): Promise<number> {
  const tone = { ...NEUTRAL_TONE, curve: piece.picture.tone.curve };
  const toned: Piece = { ...piece, picture: { ...piece.picture, tone } };
  const { rgb, tones: steps } = await burnToneScale(toned, appearance, runner, warmthsK, { ...PROVED, films });
  const predicted = steps.map((_, step) => {
    const mean = [0, 1, 2].map((k) =>
      filmShares.reduce((sum, share, film) => sum + share * rgb[3 * (film * steps.length + step) + k], 0),
    );
    return linearRgbToLab([mean[0], mean[1], mean[2]])[0];
  });
  const { darkest, lightest } = stackRange(piece, appearance, predicted);
  const places = Array.from(tones, (count, bin) => {
    const at = (bin + 0.5) / TONE_BINS;
    return { count, wanted: darkest + (lightest - darkest) * at, predicted: readAt(predicted, at) };
  });
  return toneError(places).rms;
}
