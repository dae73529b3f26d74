import { createGenerator, type RandomGenerator } from '../../base/random/generator.ts';
import { breathe } from '../../base/stop.ts';
import { screenTone } from '../../image/screens/screen-tone.ts';
import type { ScreenMethod } from '../../piece/schema.ts';

/** A place to look at: each variable from 0 to 1, and one of several kinds. */
export interface SearchPoint {
  readonly at: readonly number[];
  readonly kind: number;
}

export interface Found<Value> extends SearchPoint {
  readonly value: Value;
}

interface SearchOptions<Value> {
  readonly variables: number;
  readonly kinds: number;
  readonly evaluate: (place: SearchPoint) => Promise<Value>;
  /** Known to be worth a look; looked at first. */
  readonly starts: readonly SearchPoint[];
  /** The smaller the better; for each a search of its own, on what all have found so far; the first gets the most of the budget. */
  readonly costs: readonly ((value: Value) => number)[];
  readonly seed: number;
  /** Places of the first, even look round. */
  readonly scattered: number;
  /** Evaluations at most. */
  readonly budget: number;
  readonly signal?: AbortSignal;
  /** Awaited after each start, after the look round and after each search. */
  readonly onRound?: (found: readonly Found<Value>[], share: number) => Promise<void> | void;
}

const FIRST_STEP = 0.16;

const LAST_STEP = 0.01;

/**
 * Looks for the best places of a function that costs milliseconds a time: a Latin hypercube over all variables, then for each cost a
 * direct search (Hooke and Jeeves, J. ACM 8, 1961) from the best place so far and from the best of another kind, with halved steps,
 * and along turned directions (as in mesh adaptive search, Audet & Dennis, SIAM J. Optim. 17, 2006) where no variable alone helps.
 * What was looked at once is never evaluated again. The same seed gives the same answer.
 * @returns everything that was looked at, in that order.
 * @throws Cancelled.
 */
export async function search<Value>(options: SearchOptions<Value>): Promise<Found<Value>[]> {
  const { variables, kinds, evaluate, costs, budget } = options;
  const found = new Map<string, Found<Value>>();
  const look = async (place: SearchPoint): Promise<Found<Value> | null> => {
    const at = place.at.map((value) => Math.round(4096 * Math.min(1, Math.max(0, value))) / 4096);
    const key = `${place.kind} ${at.join(' ')}`;
    const known = found.get(key);
    if (known || found.size >= budget) return known ?? null;
    await breathe(options.signal);
    const fresh = { at, kind: place.kind, value: await evaluate({ at, kind: place.kind }) };
    found.set(key, fresh);
    return fresh;
  };
  const round = (share: number) => options.onRound?.([...found.values()], share);

  for (const place of options.starts) {
    await look(place);
    await round(0);
  }
  const random = createGenerator(options.seed);
  for (const place of latinHypercube(variables, options.scattered, kinds, random)) await look(place);
  await round(0);
  for (const [i, cost] of costs.entries()) {
    const fair = Math.floor(budget * ((i + 1) / costs.length) ** 0.7);
    const spent = () => found.size >= fair;
    for (const start of bestOfKinds([...found.values()], cost, 2)) {
      await directSearch(start, look, cost, kinds, random, spent);
    }
    // Once more from the best, along other directions, for as long as that helps.
    for (let helps = true; helps && !spent(); ) {
      const [best] = bestOfKinds([...found.values()], cost, 1);
      await directSearch(best, look, cost, kinds, random, spent);
      helps = cost(bestOfKinds([...found.values()], cost, 1)[0].value) < cost(best.value);
    }
    await round((i + 1) / costs.length);
  }
  return [...found.values()];
}

/** The best place, and the best of another kind. */
function bestOfKinds<Value>(found: Found<Value>[], cost: (value: Value) => number, count: number): Found<Value>[] {
  const best: Found<Value>[] = [];
  for (const one of found.sort((a, b) => cost(a.value) - cost(b.value))) {
    if (best.length < count && best.every(({ kind }) => kind !== one.kind)) best.push(one);
  }
  return best;
}

async function directSearch<Value>(
  start: Found<Value>,
  look: (place: SearchPoint) => Promise<Found<Value> | null>,
  cost: (value: Value) => number,
  kinds: number,
  random: RandomGenerator,
  spent: () => boolean,
): Promise<void> {
  let best = start;
  const better = async (place: SearchPoint): Promise<boolean> => {
    const seen = await look(place);
    if (!seen || cost(seen.value) >= cost(best.value)) return false;
    best = seen;
    return true;
  };
  const moved = (from: SearchPoint, variable: number, by: number): SearchPoint => ({
    kind: from.kind,
    at: from.at.map((value, i) => (i === variable ? Math.min(1, Math.max(0, value + by)) : value)),
  });
  for (let step = FIRST_STEP; step >= LAST_STEP; step /= 2) {
    for (let going = true; going && !spent(); ) {
      const before = best;
      for (let i = 0; i < best.at.length && !spent(); i++) {
        if (!(await better(moved(best, i, step)))) await better(moved(best, i, -step));
      }
      // Where limits meet at an angle no variable alone helps: a turned set of directions may.
      for (const direction of best === before ? turnedDirections(best.at.length, random) : []) {
        if (spent()) break;
        const along = (by: number): SearchPoint => ({
          kind: best.kind,
          at: best.at.map((value, i) => Math.min(1, Math.max(0, value + by * direction[i]))),
        });
        if (!(await better(along(step)))) await better(along(-step));
      }
      going = best !== before;
      // What has helped may help again: as far once more in the same direction.
      if (going) {
        const at = best.at.map((value, i) => Math.min(1, Math.max(0, 2 * value - before.at[i])));
        await better({ at, kind: best.kind });
      }
    }
    if (step > FIRST_STEP / 3) {
      for (let kind = 0; kind < kinds && !spent(); kind++) await better({ at: best.at, kind });
    }
  }
}

/** Directions at right angles to one another, turned at random: the columns of a reflection (Householder). */
function turnedDirections(variables: number, random: RandomGenerator): number[][] {
  const normal = Array.from({ length: variables }, () => random.nextNormal());
  const squared = normal.reduce((sum, value) => sum + value * value, 1e-12);
  return normal.map((one, i) => normal.map((other, k) => (i === k ? 1 : 0) - (2 * one * other) / squared));
}

/** Places of which each variable takes every n-th of its range just once (McKay, Beckman & Conover, Technometrics 21, 1979). */
function latinHypercube(variables: number, count: number, kinds: number, random: RandomGenerator): SearchPoint[] {
  const columns = Array.from({ length: variables }, () => shuffled(count, random));
  return Array.from({ length: count }, (_, i) => ({
    at: columns.map((column) => (column[i] + random.nextUnit()) / count),
    kind: i % kinds,
  }));
}

function shuffled(count: number, random: RandomGenerator): number[] {
  const order = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i--) {
    const j = Math.floor(random.nextUnit() * (i + 1));
    [order[i], order[j]] = [order[j], order[i]];
  }
  return order;
}

/** Dots along the side of the patch a screen is judged on, and its tones. */
const SIDE = 64;

const TONES = [0.25, 0.45, 0.65, 0.85];

/** Standard deviation of the eye's blur, mm: one arc minute at 400 mm (a usual figure, value from memory). */
export const EYE_BLUR_MM = 0.12;

const dotsOf = new Map<ScreenMethod, Uint8Array[]>();

function dots(method: ScreenMethod): Uint8Array[] {
  let patches = dotsOf.get(method);
  if (!patches) {
    patches = TONES.map((tone) =>
      screenTone(
        {
          width: SIDE,
          height: SIDE,
          lightness: new Float32Array(SIDE * SIDE).fill(tone),
          mask: new Uint8Array(SIDE * SIDE).fill(255),
        },
        method,
      ),
    );
    dotsOf.set(method, patches);
  }
  return patches;
}

const grains = new Map<string, number>();

/**
 * Grain of a screen: standard deviation of its coverage, 0–0.5, once it is blurred by beam and eye (standard deviation in dots), root
 * mean square over four tones. 0 in continuous tone. Measured on the screen's own dots.
 */
export function screenGrain(method: ScreenMethod, blurDots: number): number {
  if (method === 'continuous') return 0;
  const steps = Math.round(8 * Math.min(12, blurDots));
  const key = `${method} ${steps}`;
  let grain = grains.get(key);
  if (grain === undefined) {
    const variances = dots(method).map((levels) => blurredVariance(levels, steps / 8));
    grain = Math.sqrt(variances.reduce((sum, value) => sum + value, 0) / TONES.length);
    grains.set(key, grain);
  }
  return grain;
}

/** The patch repeats beyond its sides. */
function blurredVariance(levels: Uint8Array, blurDots: number): number {
  const half = Math.ceil(3 * blurDots);
  const weights = Array.from({ length: 2 * half + 1 }, (_, i) =>
    blurDots > 0 ? Math.exp(-0.5 * ((i - half) / blurDots) ** 2) : 1,
  );
  const total = weights.reduce((sum, value) => sum + value, 0);
  const along = (from: Float64Array, step: number): Float64Array =>
    from.map((_, at) => {
      const place = Math.floor(at / step) % SIDE;
      const base = at - place * step;
      let sum = 0;
      for (let k = 0; k < weights.length; k++)
        sum += weights[k] * from[base + ((place + k - half + 4 * SIDE) % SIDE) * step];
      return sum / total;
    });
  const coverage = Float64Array.from(levels, (level) => level / 255);
  const blurred = along(along(coverage, 1), SIDE);
  const average = blurred.reduce((sum, value) => sum + value, 0) / blurred.length;
  return blurred.reduce((sum, value) => sum + (value - average) ** 2, 0) / blurred.length;
}
