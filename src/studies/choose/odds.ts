import { normalQuantile } from '../../base/normal.ts';
import { type Quantity, quantity } from '../../base/quantity.ts';
import {
  CLEARED_RESIDUE_UM,
  CLEARED_SHARE,
  LIGHT_AREA_LIGHTNESS,
  SCORCHED_LEVEL,
  SCORCHED_SHARE,
} from '../../burn/clearing.ts';
import { biteUm, clearingDose, opaqueDepthUm } from '../../burn/kernel/burn.kernel.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { warmFactor } from '../../burn/swath.ts';
import { burnToneScale, type ToneScale } from '../../burn/tone-scale.ts';
import { createMonotoneCurve } from '../../image/tone.ts';
import { lineDose, spotRadii } from '../../physics/beam/gaussian.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { layerTable, pulsedCrossing } from '../../physics/material/layers.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece, Tone } from '../../piece/schema.ts';
import { shiftPiece, spreadOf } from '../sure/spread.ts';
import { type Facts, TONE_BINS } from './facts.ts';
import { HOT_SHARE, type Trials } from './trials.ts';

/** Prepared lightnesses (of stacks that darken: what is missing to 1) at which the odds are burned, and dots along a patch's side. */
const BURNED_TONES = [0.7, 0.9, 0.95, 1];

const PATCH = 5;

/** Standard deviations at which harder and easier pieces are burned. */
const TRIED_Z = 1.9;

/** Patches are few: of the limit so much is used. */
export const SCORCH_LIMIT = 0.5 * SCORCHED_SHARE;

/** Beyond so many standard deviations short of the limits only a coarse answer is needed. */
const HOPELESS = 2.5;

/** Share of the picture near each of the patches' tones: of its light areas, and of all that burns hard. */
export function burnedShares(trials: Trials, curve: (tone: number) => number): { light: number[]; all: number[] } {
  const light = BURNED_TONES.map(() => 0);
  const all = BURNED_TONES.map(() => 0);
  for (let bin = 0; bin < TONE_BINS; bin++) {
    const prepared = curve((bin + 0.5) / TONE_BINS);
    const hard = trials.lightens ? prepared : 1 - prepared;
    const isLight = trials.lightens && prepared >= LIGHT_AREA_LIGHTNESS;
    if (hard < BURNED_TONES[0] - 0.1) continue;
    let above = 1;
    while (above < BURNED_TONES.length - 1 && BURNED_TONES[above] < hard) above++;
    const span = BURNED_TONES[above] - BURNED_TONES[above - 1];
    const t = Math.min(1, Math.max(0, (hard - BURNED_TONES[above - 1]) / span));
    for (const [node, weight] of [
      [above - 1, 1 - t],
      [above, t],
    ]) {
      all[node] += weight * trials.facts.tones[bin];
      if (isLight) light[node] += weight * trials.facts.tones[bin];
    }
  }
  return { light, all };
}

interface BurnedShares {
  readonly uncleared: number;
  readonly scorched: number;
}

/** Uncleared share of the light areas and scorched share of the picture, for a piece as it may be. */
export async function burnedSharesOf(
  trials: Trials,
  piece: Piece,
  pass: Pass,
  warmthsK: readonly number[],
  { light, all }: { light: readonly number[]; all: readonly number[] },
): Promise<BurnedShares> {
  const { facts } = trials;
  const tones = trials.lightens ? BURNED_TONES : BURNED_TONES.map((tone) => 1 - tone).reverse();
  const scale = await burnPatches(piece, pass, trials.appearance, trials.runner, warmthsK, {
    tones,
    films: facts.films,
    patchDots: PATCH,
  });
  let uncleared = 0;
  let scorched = 0;
  facts.filmShares.forEach((filmShare, film) => {
    BURNED_TONES.forEach((_, k) => {
      const tone = trials.lightens ? k : BURNED_TONES.length - 1 - k;
      const at = film * tones.length + tone;
      uncleared += filmShare * light[k] * scale.uncleared[at];
      scorched += filmShare * all[k] * scale.scorchedShare[at];
    });
  });
  const lit = light.reduce((sum, value) => sum + value, 0);
  return { uncleared: lit > 0 ? uncleared / lit : 0, scorched };
}

/** Scorched share of the picture, its hot places among it. */
export async function scorchedShare(
  trials: Trials,
  piece: Piece,
  pass: Pass,
  shares: ReturnType<typeof burnedShares>,
): Promise<number> {
  const { scorched } = await burnedSharesOf(trials, piece, pass, trials.warmthsK(pass), shares);
  if (!trials.piece.heat.carryOver) return scorched;
  const hot = await burnedSharesOf(trials, piece, pass, trials.warmthsK(pass, 'hot'), shares);
  return (1 - HOT_SHARE) * scorched + HOT_SHARE * hot.scorched;
}

/** Standard deviation of the logarithm of the watts that the film's own unevenness asks for; most of the dose goes into the film. */
function filmSpread({ films, filmShares }: Facts): number {
  const mean = films.reduce((sum, film, i) => sum + filmShares[i] * film, 0);
  const variance = films.reduce((sum, film, i) => sum + filmShares[i] * (film - mean) ** 2, 0);
  return Math.max(0.02, (FILM_DOSE_SHARE * Math.sqrt(variance)) / Math.max(1e-6, mean));
}

const FILM_DOSE_SHARE = 0.75;

type Odds = Pick<Outcome, 'unclearedShare' | 'scorchedShare' | 'clearsZ' | 'unscorchedZ'>;

/** What the burning end does on the piece as it is, on one that is harder to clear and on one that scorches sooner. */
export async function oddsOf(
  trials: Trials,
  pass: Pass,
  warmthsK: readonly number[],
  { clearing, scorching }: Hardnesses,
  curve: (tone: number) => number,
): Promise<Odds> {
  const { piece } = trials;
  const shares = burnedShares(trials, curve);
  const given = await burnedSharesOf(trials, piece, pass, warmthsK, shares);
  const clears = shares.light.some((share) => share > 0);
  const scorches = trials.piece.stack.coats.length >= 2;
  const film = filmSpread(trials.facts);
  const slope = ({ deviation }: Hardness) => Math.min(6, Math.max(0.5, deviation / film));
  const odds = (hard: number, easy: number): Odds => ({
    unclearedShare: given.uncleared,
    scorchedShare: given.scorched,
    clearsZ: clears ? crossingZ(given.uncleared, hard, TRIED_Z, CLEARED_SHARE, slope(clearing)) : null,
    unscorchedZ: scorches ? crossingZ(given.scorched, easy, TRIED_Z, SCORCH_LIMIT, slope(scorching)) : MOST_Z,
  });
  const guess = odds(given.uncleared, given.scorched);
  if (Math.max(clearing.deviation, scorching.deviation) < 1e-6 || violationOf(guess) > HOPELESS) return guess;
  const hard = hardPiece(piece, clearing, TRIED_Z);
  const easy = hardPiece(piece, scorching, -TRIED_Z);
  return odds(
    clears ? (await burnedSharesOf(trials, hard, pass, trials.warmthsK(pass, 'cool'), shares)).uncleared : 0,
    scorches ? await scorchedShare(trials, easy, pass, shares) : 0,
  );
}

/** Shares nearer to nothing or everything than this cannot be told from few patches. */
const FAINT = 5e-4;

/**
 * How many standard deviations away a share that grows with them passes its limit, from its values at none and at `triedZ`. Shares of
 * an uneven film grow about as a normal distribution does, so their quantiles lie on a straight line.
 * @param slope of that line where the two values do not tell it: spread of what is not known over that of the film.
 * @returns between ±`MOST_Z`.
 */
export function crossingZ(atNone: number, atTried: number, triedZ: number, limit: number, slope: number): number {
  const told = (share: number) => share > FAINT && share < 1 - FAINT;
  const quantile = (share: number) => normalQuantile(Math.min(1 - FAINT, Math.max(FAINT, share)));
  const [none, tried, wanted] = [quantile(atNone), quantile(atTried), quantile(limit)];
  const measured = told(atNone) && told(atTried) ? Math.max(0.2 * slope, (tried - none) / triedZ) : slope;
  const fromNone = (wanted - none) / measured;
  const fromTried = triedZ + (wanted - tried) / measured;
  const z = told(atTried)
    ? fromTried
    : told(atNone) || atNone >= 1 - FAINT
      ? fromNone
      : atTried <= FAINT
        ? fromTried
        : triedZ / 2;
  return Math.min(MOST_Z, Math.max(-MOST_Z, z));
}

/**
 * In which direction the piece's unknown numbers must be off for a limit to take more watts: shifts of their logarithms that go with one
 * standard deviation of the watts needed over those that come.
 */
export interface Hardness {
  /** Standard deviation of the logarithm of the watts needed over those that come. */
  readonly deviation: number;
  readonly names: readonly string[];
  readonly shifts: readonly number[];
  readonly powerShift: number;
}

const STEP = 0.02;

/** Of the two limits that settings lie between: watts that clear, and watts that scorch, where what scorches is not known either. */
interface Hardnesses {
  readonly clearing: Hardness;
  readonly scorching: Hardness;
}

export function hardnessesOf(piece: Piece, pass: Pass, warmthK: number): Hardnesses {
  const column = (of: Piece) => columnOf(of, pass, 1, warmthK);
  const clearing = hardnessOf(piece, (of) => clearingWatts(column(of)));
  const scorches = piece.stack.coats.length >= 2;
  return { clearing, scorching: scorches ? hardnessOf(piece, (of) => scorchingWatts(column(of), of)) : clearing };
}

/**
 * First-order reliability: the slopes of ln(watts) at the piece as it is, and its own spread (`certainty`), give the likeliest way to need
 * so many more: the design point of Hasofer and Lind, J. Eng. Mech. Div. ASCE 100, 1974 (value from memory).
 */
function hardnessOf(piece: Piece, watts: (piece: Piece) => number): Hardness {
  const { names, matrix } = piece.stack.coats.length > 0 ? spreadOf(piece) : { names: [], matrix: [] };
  const slopes = names.map((name) => {
    const at = (by: number) => watts(shiftPiece(piece, [name], [by]));
    return Math.log(at(STEP) / at(-STEP)) / (2 * STEP);
  });
  const { power } = piece.certainty;
  const along = matrix.map((row) => row.reduce((sum, value, k) => sum + value * slopes[k], 0));
  const variance = slopes.reduce((sum, slope, i) => sum + slope * along[i], power * power);
  const deviation = Math.sqrt(Math.max(0, variance));
  const per = deviation > 0 ? 1 / deviation : 0;
  return { deviation, names, shifts: along.map((value) => value * per), powerShift: -power * power * per };
}

/** The likeliest of all pieces whose limit takes `z` standard deviations more watts than thought; below 0 fewer. */
export function hardPiece(piece: Piece, { names, shifts, powerShift }: Hardness, z: number): Piece {
  const shifted = shiftPiece(
    piece,
    names,
    shifts.map((shift) => z * shift),
  );
  const { machine } = shifted;
  const fullPowerW = machine.source.fullPowerW * Math.exp(z * powerShift);
  return { ...shifted, machine: { ...machine, source: { ...machine.source, fullPowerW } } };
}

/** What a candidate for the settings comes to, by the quick model. Shares 0–1; lightness in L*. */
export interface Outcome {
  readonly minutes: number;
  /** What the picture loses, root of the sum of squares of the three that follow. */
  readonly qualityLossL: number;
  /** Tone error after the tone curve is fitted: L* wanted against predicted, root mean square over the picture, its film and what is not known. */
  readonly toneErrorL: number;
  /** Grain of the screen as seen at arm's length, and detail finer than rows and beam. */
  readonly grainL: number;
  readonly detailL: number;
  readonly unclearedShare: number;
  readonly scorchedShare: number;
  /**
   * How many standard deviations of what is not known stand between the settings and light areas that do not clear; null where nothing
   * is to be cleared. Likewise for scorch.
   */
  readonly clearsZ: number | null;
  readonly unscorchedZ: number;
}

/** What matters to the maker, each 0–100. */
export interface Wishes {
  readonly quality: number;
  readonly minutes: number;
  readonly safety: number;
}

const WEIGHT = { unit: 'of 100', step: 5, digits: 0 } as const;

export const WISHES: { readonly [Wish in keyof Wishes]: Quantity } = {
  quality: quantity(0, 100, { label: 'True tones and fine detail', ...WEIGHT }),
  minutes: quantity(0, 100, { label: 'A short burn', ...WEIGHT }),
  safety: quantity(0, 100, { label: 'A wide margin', ...WEIGHT }),
};

export const EVEN_WISHES: Wishes = { quality: 50, minutes: 50, safety: 50 };

/** Odds with which light areas must clear and the rest stay unscorched. */
export const WANTED_ODDS = 0.95;

/** 95 % is 1.645 standard deviations; the rest allows for what the quick model leaves out. */
export const WANTED_Z = 1.7;

/** Beyond this many standard deviations the quick model cannot tell. */
const MOST_Z = 3;

/** The nearer of the two limits, in standard deviations. */
export const marginOf = ({ clearsZ, unscorchedZ }: Pick<Outcome, 'clearsZ' | 'unscorchedZ'>): number =>
  Math.min(clearsZ ?? MOST_Z, unscorchedZ);

/** How far an outcome is from what it must keep, in standard deviations; 0 if it keeps it. */
export const violationOf = ({ clearsZ, unscorchedZ }: Pick<Outcome, 'clearsZ' | 'unscorchedZ'>): number =>
  Math.max(0, WANTED_Z - (clearsZ ?? MOST_Z)) + Math.max(0, WANTED_Z - unscorchedZ);

/** Losses of 10 L*, of four doublings of half an hour and of all the margin count the same (a choice of ours). */
const FULL_LOSS_L = 10;

const SHORT_MINUTES = 30;

const DOUBLINGS = 4;

const PENALTY = 10;

/** One number for a candidate: the smaller the better, above 0. What breaks a limit comes after everything that keeps it. */
export function costOf(outcome: Outcome, wishes: Wishes): number {
  const total = Math.max(1e-9, wishes.quality + wishes.minutes + wishes.safety);
  const quality = outcome.qualityLossL / FULL_LOSS_L;
  const minutes = Math.log2(1 + outcome.minutes / SHORT_MINUTES) / DOUBLINGS;
  const risk = (MOST_Z - marginOf(outcome)) / MOST_Z;
  const wished = (wishes.quality * quality + wishes.minutes * minutes + wishes.safety * risk) / total;
  return wished + PENALTY * violationOf(outcome);
}

/** How steeply the floor falls below the light areas. */
const SLOPE = 3;

/**
 * Prepared lightness that a tone gets at least: what is light in the photograph must be a light area of the burn too, so that it is meant
 * to clear. A fitted curve alone would grade it into powers that leave thick places of the coat standing.
 * @param solid 0: light areas keep their tones; 1: they are burned without a gap, because dots beside gaps get less and clear last.
 */
export function lightFloor(tone: number, solid: number): number {
  const least = LIGHT_AREA_LIGHTNESS + (1 - LIGHT_AREA_LIGHTNESS) * solid;
  const over = tone - LIGHT_AREA_LIGHTNESS;
  return over >= 0 ? least + (1 - least) * (over / (1 - LIGHT_AREA_LIGHTNESS)) : Math.max(0, least + SLOPE * over);
}

/** A fitted curve raised to the floor. */
export function raisedCurve(curve: readonly (readonly [number, number])[], solid: number): Tone['curve'] {
  const read = createMonotoneCurve(curve);
  const places = [...new Set([...curve.map(([x]) => x), LIGHT_AREA_LIGHTNESS])].sort((a, b) => a - b);
  return places.map((x) => [x, Math.max(read(x), lightFloor(x, solid))]);
}

/** Rows to either side of a place whose beam counts, and places between two rows. */
const NEAR_ROWS = 5;

const PHASES = [1 / 6, 1 / 2, 5 / 6];

/** The topmost coat under even rows of one pass: what the burn kernel does, at a few places across a row. */
interface Column {
  /** Mean residue, µm, and mean dose past the coat, J/mm², at so many watts. */
  burn(watts: number): { readonly leftUm: number; readonly excess: number };
  /** Watts whose row just reaches the coat's threshold in its middle. */
  readonly thresholdWatts: number;
}

/** `film`: thickness over the mean. Without dots, lag and rims, which the burned patches have. @throws RangeError without a coat. */
export function columnOf(piece: Piece, pass: Pass, film: number, warmthK: number): Column {
  const [coat] = piece.stack.coats;
  if (!coat) throw new RangeError('bare wood has no coat to take away');
  const { source, airFlow } = piece.machine;
  const { alongMm, acrossMm } = spotRadii(source, pass);
  const dwellS = (2 * alongMm) / pass.feedMmPerS;
  const pulsed = pulsedCrossing(source, alongMm, pass.feedMmPerS);
  const [absorptance, cold, energy, pulseUm, thinUm] = layerTable(
    piece.stack,
    piece.slab.wood,
    dwellS,
    pulsed,
    airFlow,
  );
  const threshold = Math.max(1e-9, cold * warmFactor(warmthK));
  const filmUm = coat.dryThicknessUm * film;
  const opaqueUm = opaqueDepthUm(threshold, energy, pulseUm);
  const perWatt = PHASES.map((phase) =>
    Array.from({ length: 2 * NEAR_ROWS + 1 }, (_, k) =>
      lineDose(1, pass.feedMmPerS, acrossMm, (k - NEAR_ROWS + 0.5 - phase) * pass.rowPitchMm),
    ),
  );
  const burnPlace = (doses: readonly number[], watts: number): [number, number] => {
    let leftUm = filmUm;
    let excess = 0;
    for (const perOne of doses) {
      const dose = watts * perOne;
      if (leftUm <= 0) {
        excess += dose;
        continue;
      }
      const share = leftUm < opaqueUm ? leftUm / opaqueUm : 1;
      const used = clearingDose(threshold, energy, leftUm, pulseUm) / absorptance;
      excess += dose - share * Math.min(dose, used);
      leftUm -= biteUm(dose, absorptance, threshold, energy, leftUm, pulseUm, thinUm);
    }
    return [leftUm, excess];
  };
  return {
    burn(watts) {
      let leftUm = 0;
      let excess = 0;
      for (const doses of perWatt) {
        const [left, past] = burnPlace(doses, watts);
        leftUm += left / PHASES.length;
        excess += past / PHASES.length;
      }
      return { leftUm, excess };
    },
    thresholdWatts: threshold / Math.max(1e-12, absorptance * lineDose(1, pass.feedMmPerS, acrossMm)),
  };
}

/** Watts from which the mean residue no longer counts as uncleared. */
export const clearingWatts = (column: Column): number =>
  leastWatts(column, ({ leftUm }) => leftUm <= CLEARED_RESIDUE_UM);

/** Watts from which the coat below counts as scorched; infinite if there is none. */
export function scorchingWatts(column: Column, { stack }: Piece): number {
  const under = stack.coats[1];
  if (!under) return Number.POSITIVE_INFINITY;
  const most = (under.scorchOnsetJPerMm2 * (1 - 3 * Math.log(1 - SCORCHED_LEVEL))) / Math.max(1e-6, under.absorptance);
  return leastWatts(column, ({ excess }) => excess >= most);
}

function leastWatts(column: Column, enough: (burned: ReturnType<Column['burn']>) => boolean): number {
  let low = column.thresholdWatts / 4;
  let high = low;
  for (let i = 0; i < 40 && !enough(column.burn(high)); i++) high *= 2;
  for (let i = 0; i < 24; i++) {
    const middle = Math.sqrt(low * high);
    if (enough(column.burn(middle))) high = middle;
    else low = middle;
  }
  return high;
}

interface PatchRequest {
  /** Prepared lightnesses, rising, at least two. */
  readonly tones: readonly number[];
  /** Thickness of the film over its mean. */
  readonly films: readonly number[];
  readonly patchDots: number;
}

/** Burns even patches of given prepared lightnesses with one pass. */
export function burnPatches(
  piece: Piece,
  pass: Pass,
  appearance: AppearanceTable,
  runner: SwathRunner,
  warmthsK: readonly number[],
  { tones, films, patchDots }: PatchRequest,
): Promise<ToneScale> {
  const curve = tones.map((tone, i): [number, number] => [i / (tones.length - 1), tone]);
  const toned: Piece = {
    ...piece,
    passes: [{ ...pass, tone: null, only: null }],
    picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, curve } },
  };
  return burnToneScale(toned, appearance, runner, warmthsK, { tones: tones.length, films, patchDots });
}
