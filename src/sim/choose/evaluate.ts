import { spotRadii } from '../../core/beam/source.ts';
import { crossingZ } from '../../core/choose/crossing-z.ts';
import { lightFloor } from '../../core/choose/light-floor.ts';
import { MOST_Z, type Outcome, violationOf } from '../../core/choose/outcome.ts';
import { EYE_BLUR_MM, screenGrain } from '../../core/choose/screen-grain.ts';
import { linearRgbToLab } from '../../core/color/lab.ts';
import { fitRising } from '../../core/image/repair/rising-fit.ts';
import { SCREENS, type ScreenKind } from '../../core/image/screens/screen-list.ts';
import { type AppearanceTable, appearanceLab, burnDirection, intactRgb } from '../../core/material/appearance.ts';
import type { Pass, Piece } from '../../core/piece/schema.ts';
import { LIGHT_AREA_LIGHTNESS } from '../../core/quality/clearing.ts';
import type { CoarseScene } from '../coarse-scene.ts';
import { CLEARED_SHARE, SCORCHED_SHARE } from '../how-sure.ts';
import { lightOf, likelyWarmthK } from '../likely-warmth.ts';
import type { StripRunner } from '../runner.ts';
import type { ToneScale } from '../tone-scale.ts';
import { type Facts, factsOf, TONE_BINS } from './facts.ts';
import { type Hardness, hardnessOf, hardPiece } from './hard-draw.ts';
import { passMinutes } from './minutes.ts';
import { burnPatches } from './patches.ts';

/** Everything a candidate is judged with. */
export interface Bench {
  readonly piece: Piece;
  readonly appearance: AppearanceTable;
  readonly runner: StripRunner;
  readonly facts: Facts;
  readonly lightens: boolean;
  /** Lightness of the stack unburned and burned clean, the darker first. */
  readonly endsL: readonly [number, number];
  warmthsK(pass: Pass): number[];
}

export function createBench(piece: Piece, scene: CoarseScene, appearance: AppearanceTable, runner: StripRunner): Bench {
  const light = lightOf(scene, piece.picture.tone);
  return {
    piece,
    appearance,
    runner,
    facts: factsOf(piece, scene),
    lightens: burnDirection(piece.stack, piece.slab.wood) === 'lightens',
    endsL: stackEnds(piece, appearance),
    warmthsK: (pass) => (piece.heat.carryOver ? [likelyWarmthK(piece, pass, scene, light)] : []),
  };
}

/** Lightness that the stack can have at most and at least: unburned, and the topmost coat gone (bare wood: charred through). */
function stackEnds(piece: Piece, table: AppearanceTable): [number, number] {
  const { coats } = piece.stack;
  const intact = linearRgbToLab(intactRgb(table, piece.stack))[0];
  const burned =
    coats.length === 0
      ? appearanceLab(table, 0, 200, 1 / table.perExcess)[0]
      : appearanceLab(table, 1, coats[1]?.dryThicknessUm ?? 0)[0];
  return [Math.min(intact, burned), Math.max(intact, burned)];
}

/** Prepared lightnesses of the patches: evenly for the tones; where a stack clears or scorches for the odds. */
const TONES = Array.from({ length: 9 }, (_, i) => i / 8);
const BURNED_TONES = [0.7, 0.9, 0.95, 1];
const TONE_PATCH = 7;
const ODDS_PATCH = 5;
/** Three-point Gauss–Hermite quadrature over what is not known: how far off, and how much each of the outer two counts. */
const HERMITE_Z = Math.sqrt(3);
const HERMITE_SHARE = 1 / 6;
/** Standard deviations at which harder and easier pieces are burned. */
const TRIED_Z = 1.9;
/** Beyond so many standard deviations short of the limits only a coarse answer is needed. */
const HOPELESS = 2.5;

/**
 * What a pass comes to, from a few burned patches: how light each tone gets, and how the burning end fares on the piece as it is, on one
 * that is harder to clear and on one that is easier to scorch.
 */
export async function evaluate(bench: Bench, pass: Pass): Promise<Outcome> {
  const { piece, facts } = bench;
  const warmthsK = bench.warmthsK(pass);
  const minutes = passMinutes(facts, pass, piece.machine.motion);
  const tones = await burnPatches(piece, pass, bench.appearance, bench.runner, warmthsK, {
    tones: TONES,
    films: middleFilms(facts),
    patchDots: TONE_PATCH,
  });
  const hardness = hardnessOf(piece, pass, warmthsK[0] ?? 0);
  const unknown: ToneScale[] = [];
  for (const z of hardness.deviation > 1e-6 ? [-HERMITE_Z, HERMITE_Z] : []) {
    unknown.push(
      await burnPatches(hardPiece(piece, hardness, z), pass, bench.appearance, bench.runner, warmthsK, {
        tones: TONES,
        films: [1],
        patchDots: TONE_PATCH,
      }),
    );
  }
  const looks = lookOf(bench, pass, tones, unknown);
  const odds = await oddsOf(bench, pass, warmthsK, hardness, looks.curve);
  const { curve: _, ...losses } = looks;
  return { minutes, ...losses, ...odds };
}

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

/** `unknown`: the scales of an easier and of a harder piece; none where all is known. */
function lookOf(
  { facts, piece, endsL, lightens }: Bench,
  pass: Pass,
  scale: ToneScale,
  unknown: readonly ToneScale[],
): Look {
  const count = scale.tones.length;
  const films = lightnesses(scale);
  const others = unknown.map((one) => lightnesses(one)[0]);
  const middle = fitRising(films[films.length >> 1]);
  const [darkest, lightest] = [middle[0], middle[count - 1]];
  const curve = (tone: number): number => {
    const fitted = fittedTone(middle, darkest + (lightest - darkest) * tone);
    return lightens ? Math.max(fitted, lightFloor(tone)) : fitted;
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
  'error diffusion': 1.4,
  'blue noise': 1.6,
  ordered: 1.8,
  'clustered dot': 3,
};
const kindOf = ({ screen }: Pass): ScreenKind => SCREENS.find(({ method }) => method === screen)?.kind ?? 'ordered';

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

/** Share of the picture near each of the patches' tones: of its light areas, and of all that burns hard. */
export function burnedShares(bench: Bench, curve: (tone: number) => number): { light: number[]; all: number[] } {
  const light = BURNED_TONES.map(() => 0);
  const all = BURNED_TONES.map(() => 0);
  for (let bin = 0; bin < TONE_BINS; bin++) {
    const prepared = curve((bin + 0.5) / TONE_BINS);
    const hard = bench.lightens ? prepared : 1 - prepared;
    const isLight = bench.lightens && prepared >= LIGHT_AREA_LIGHTNESS;
    if (hard < BURNED_TONES[0] - 0.1) continue;
    let above = 1;
    while (above < BURNED_TONES.length - 1 && BURNED_TONES[above] < hard) above++;
    const span = BURNED_TONES[above] - BURNED_TONES[above - 1];
    const t = Math.min(1, Math.max(0, (hard - BURNED_TONES[above - 1]) / span));
    for (const [node, weight] of [
      [above - 1, 1 - t],
      [above, t],
    ]) {
      all[node] += weight * bench.facts.tones[bin];
      if (isLight) light[node] += weight * bench.facts.tones[bin];
    }
  }
  return { light, all };
}

export interface BurnedShares {
  readonly uncleared: number;
  readonly scorched: number;
}

/** Uncleared share of the light areas and scorched share of the picture, for a piece as it may be. */
export async function burnedSharesOf(
  bench: Bench,
  piece: Piece,
  pass: Pass,
  warmthsK: readonly number[],
  { light, all }: { light: readonly number[]; all: readonly number[] },
): Promise<BurnedShares> {
  const { facts } = bench;
  const tones = bench.lightens ? BURNED_TONES : BURNED_TONES.map((tone) => 1 - tone).reverse();
  const scale = await burnPatches(piece, pass, bench.appearance, bench.runner, warmthsK, {
    tones,
    films: facts.films,
    patchDots: ODDS_PATCH,
  });
  let uncleared = 0;
  let scorched = 0;
  facts.filmShares.forEach((filmShare, film) => {
    BURNED_TONES.forEach((_, k) => {
      const tone = bench.lightens ? k : BURNED_TONES.length - 1 - k;
      const at = film * tones.length + tone;
      uncleared += filmShare * light[k] * scale.uncleared[at];
      scorched += filmShare * all[k] * scale.scorchedShare[at];
    });
  });
  const lit = light.reduce((sum, value) => sum + value, 0);
  return { uncleared: lit > 0 ? uncleared / lit : 0, scorched };
}

type Odds = Pick<Outcome, 'unclearedShare' | 'scorchedShare' | 'clearsZ' | 'unscorchedZ'>;

async function oddsOf(
  bench: Bench,
  pass: Pass,
  warmthsK: number[],
  hardness: Hardness,
  curve: (tone: number) => number,
): Promise<Odds> {
  const shares = burnedShares(bench, curve);
  const burned = (z: number) => {
    const piece = z === 0 ? bench.piece : hardPiece(bench.piece, hardness, z);
    return burnedSharesOf(bench, piece, pass, warmthsK, shares);
  };
  const given = await burned(0);
  const clears = shares.light.some((share) => share > 0);
  const scorches = bench.piece.stack.coats.length >= 2;
  const odds = (hard: number, easy: number): Odds => ({
    unclearedShare: given.uncleared,
    scorchedShare: given.scorched,
    clearsZ: clears ? crossingZ(given.uncleared, hard, TRIED_Z, CLEARED_SHARE) : null,
    unscorchedZ: scorches ? crossingZ(given.scorched, easy, TRIED_Z, SCORCHED_SHARE) : MOST_Z,
  });
  if (hardness.deviation < 1e-6) return odds(given.uncleared, given.scorched);
  const guess = odds(given.uncleared, given.scorched);
  if (violationOf(guess) > HOPELESS) return guess;
  const hard = clears ? (await burned(TRIED_Z)).uncleared : 0;
  const easy = scorches ? (await burned(-TRIED_Z)).scorched : 0;
  return odds(hard, easy);
}
