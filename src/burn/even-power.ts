import { createFilmAt } from '../physics/film/laid-film.ts';
import { powerWarmth } from '../physics/heat/power-warmth.ts';
import type { Warmer, WarmthMap } from '../physics/heat/warmth.ts';
import { LAYER_COLUMNS } from '../physics/material/layers.ts';
import type { PassRaster, ScreenedPass } from '../physics/raster/pass-raster.ts';
import type { Piece } from '../piece/schema.ts';
import { type CellGrid, warmFactor, warmthAt } from './swath.ts';
import type { SwathPass } from './swath-task.ts';

/**
 * Power that answers heat and lag: where the beam finds the work warm, dots get less power, so that they take away what they would take from a
 * cold piece; and where a source follows late, a dot that begins a stretch gets what it lacks back, up to the light end.
 *
 * - Warm work. A crossing takes (F − Eth · (1 − ΔT / 360 K)) / q (the law's head in `kernel/burn.kernel.ts`), and places between rows get from each
 *   what the plan's line weights say. The factor is the power that takes as much away as the light end does from cold work, but no more than the
 *   topmost coat has; found by halving.
 * - Film. Where the topmost coat was found or measured to be thinner than its mean, less is enough to clear it; where it is thicker the light end is
 *   all there is.
 * - Lag. The mean power over a dot is C + (s − C)·(τ/T)(1 − exp(−T/τ)) for a command C that begins at the power s (a first-order lag, as in
 *   `lagStarts`), which is solved for C.
 *
 * Limits: power between the two ends of the pass, and dots stay on their side of its middle; steps of one per cent of the light end, so that
 * programs stay short. What is burned less also warms less, so the heat is reckoned anew and the factors with it, twice.
 * @returns the same dots at levels between the ends; as they are where the pass does not ask for it or rows leave no heat. Test:
 *   test/unit/even-power.test.ts.
 */
export async function evenPower(
  piece: Piece,
  index: number,
  planned: SwathPass,
  whole: Pick<CellGrid, 'width' | 'height' | 'pitchMm'>,
  screened: ScreenedPass,
  warmer?: Warmer,
): Promise<ScreenedPass> {
  if (!piece.passes[index].evenPower || !piece.heat.carryOver) return screened;
  let evened = screened;
  for (let round = 0; round < ROUNDS; round++) {
    const map = await powerWarmth(piece, index, planned, evened, undefined, warmer);
    evened = { ...screened, levels: levelsFor(piece, planned, whole, screened, map) };
  }
  return evened;
}

const ROUNDS = 2;
/** Of the light end's power. */
const STEP = 0.01;
const LEVELS = 256;
const FILM_STEP = 0.05;
/** Films are known no finer than that. */
const FILM_BLOCK_MM = 1;
const WARMTH_STEP_K = 2;
const WARMEST_K = 240;
/** Lag that changes a dot's power by less is left alone. */
const LEAST_LAG = 0.005;

/**
 * Share of some watts that does on work so many kelvins warmer, in steps of `WARMTH_STEP_K`, what they do on cold work; on a film so many times as
 * thick as its mean, if that is what decides.
 */
export function warmShares(piece: Piece, planned: SwathPass, watts: number, film = 1): Float64Array {
  const [absorptance, thresholdJPerMm2, specificJPerMm3] = planned.layers.data.subarray(0, LAYER_COLUMNS);
  const threshold = thresholdJPerMm2 * planned.coldFactors[0];
  const { data: weights, width: taps } = planned.weights;
  // What places between two rows get from each row, per J/mm along it.
  const places = Array.from({ length: planned.phases }, (_, phase) =>
    Array.from(weights.subarray(phase * taps, (phase + 1) * taps)),
  );
  const full = (absorptance * watts) / planned.optics.feedMmPerS;
  const coat = piece.stack.coats[0];
  const enough = coat ? (coat.dryThicknessUm / 1000) * specificJPerMm3 : Number.POSITIVE_INFINITY;
  const takenAt = (profile: readonly number[], line: number, from: number) =>
    profile.reduce((sum, weight) => sum + Math.max(0, line * weight - from), 0);
  const taken = (line: number, from: number, most: number) =>
    places.reduce((sum, profile) => sum + Math.min(most, takenAt(profile, line, from)), 0);
  /** The least absorbed energy along a row, J/mm, that takes what the watts take from cold work, of a film so thick. */
  const lineFor = (from: number, most: number): number => {
    const wanted = taken(full, threshold, most);
    let [low, high] = [0, full];
    for (let i = 0; i < 40; i++) {
      const middle = (low + high) / 2;
      if (taken(middle, from, most) < wanted) low = middle;
      else high = middle;
    }
    return high;
  };
  const cold = lineFor(threshold, enough);
  const takes = taken(full, threshold, enough) > 0;
  return Float64Array.from({ length: WARMEST_K / WARMTH_STEP_K + 1 }, (_, i) =>
    takes ? Math.min(1, lineFor(threshold * warmFactor(i * WARMTH_STEP_K), film * enough) / cold) : 1,
  );
}

function levelsFor(
  piece: Piece,
  planned: SwathPass,
  whole: Pick<CellGrid, 'width' | 'height' | 'pitchMm'>,
  screened: ScreenedPass,
  map: WarmthMap,
): Uint8Array {
  const { raster, spans, mask } = screened;
  const { wattsAt, optics } = planned;
  const { columns, pitchMm } = raster;
  const full = Math.max(wattsAt[0], wattsAt[255]);
  const dotTimeS = pitchMm / optics.feedMmPerS;
  const rise = lagOf(optics.riseTimeS, dotTimeS);
  const fall = lagOf(optics.fallTimeS, dotTimeS);
  const late = Math.max(rise.mean, fall.mean) >= LEAST_LAG;
  const filmStepAt = filmSteps(piece, whole, raster);
  const sharesOf = kept((of: number) =>
    warmShares(piece, planned, wattsAt[of % LEVELS], Math.floor(of / LEVELS) * FILM_STEP),
  );
  // A dot stays on its side of the middle, which says what is meant to open.
  const [darkLevel, lightLevel] = [0, 128].map((first) => nearestLevel(wattsAt, first));
  const levels = screened.levels.slice();
  for (let row = 0; row < raster.rows; row++) {
    const backwards = spans.backwards[row] === 1;
    let state = 0;
    for (let i = spans.first[row]; i < spans.end[row]; i++) {
      const x = backwards ? spans.first[row] + spans.end[row] - 1 - i : i;
      const at = row * columns + x;
      let command = 0;
      if (mask[at] > 0) {
        const level = levels[at];
        const shares = sharesOf(level + LEVELS * filmStepAt(x, row));
        const warmth = warmthAt(map, x + 0.5, row + 0.5, row, backwards ? 1 : 0);
        const wanted =
          wattsAt[level] * shares[Math.min(shares.length - 1, Math.round(Math.max(0, warmth) / WARMTH_STEP_K))];
        const { mean } = wanted > state ? rise : fall;
        const sent = late ? (wanted - state * mean) / (1 - mean) : wanted;
        levels[at] = (level < 128 ? darkLevel : lightLevel)(Math.round(sent / (STEP * full)) * STEP * full);
        command = wattsAt[levels[at]];
      }
      const { left } = command > state ? rise : fall;
      state = command + (state - command) * left;
    }
  }
  return levels;
}

/** How thick the film is known to lie at a dot over its mean, in steps of `FILM_STEP`; what merely may lie there counts for nothing. */
function filmSteps(
  { slab, stack, picture }: Piece,
  whole: Pick<CellGrid, 'width' | 'height' | 'pitchMm'>,
  { column, row, columns, rows, pitchMm }: PassRaster,
): (x: number, y: number) => number {
  const asMean = Math.round(1 / FILM_STEP);
  if (!stack.film.found) return () => asMean;
  const filmAt = createFilmAt(slab, { ...stack, film: { ...stack.film, shown: 'mean' } });
  const determinant = column[1] * row[2] - column[2] * row[1];
  const block = Math.max(1, Math.round(FILM_BLOCK_MM / pitchMm));
  const across = Math.ceil(columns / block);
  const steps = Uint8Array.from({ length: across * Math.ceil(rows / block) }, (_, i) => {
    const u = ((i % across) + 0.5) * block - column[0];
    const v = (Math.floor(i / across) + 0.5) * block - row[0];
    const xMm = (u * row[2] - v * column[2]) / determinant;
    const yMm = (v * column[1] - u * row[1]) / determinant;
    const left = picture.offsetXMm - (whole.width * whole.pitchMm) / 2;
    const top = picture.offsetYMm - (whole.height * whole.pitchMm) / 2;
    return Math.min(255, Math.round(filmAt(left + xMm, top + yMm) / FILM_STEP));
  });
  return (x, y) => steps[Math.floor(y / block) * across + Math.floor(x / block)];
}

/** What a first-order lag leaves of a difference at the end of a dot, and in the mean over it. */
function lagOf(timeS: number, dotTimeS: number): { readonly left: number; readonly mean: number } {
  if (timeS <= 0) return { left: 0, mean: 0 };
  const left = Math.exp(-dotTimeS / timeS);
  return { left, mean: (timeS / dotTimeS) * (1 - left) };
}

/** The level whose watts are nearest, of the 128 from one on. */
const nearestLevel = (wattsAt: Float64Array, first: number): ((watts: number) => number) =>
  kept((watts: number) => {
    let nearest = first;
    for (let i = first; i < first + 128; i++) {
      if (Math.abs(wattsAt[i] - watts) < Math.abs(wattsAt[nearest] - watts)) nearest = i;
    }
    return nearest;
  });

/** A function that works each answer out once. */
function kept<Key, Value>(make: (key: Key) => Value): (key: Key) => Value {
  const known = new Map<Key, Value>();
  return (key) => {
    let value = known.get(key);
    if (value === undefined) {
      value = make(key);
      known.set(key, value);
    }
    return value;
  };
}
