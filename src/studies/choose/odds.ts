import { CLEARED_SHARE, LIGHT_AREA_LIGHTNESS, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { type Bench, HOT_SHARE } from './bench.ts';
import { crossingZ } from './crossing-z.ts';
import { type Facts, TONE_BINS } from './facts.ts';
import { type Hardness, hardPiece } from './hard-draw.ts';
import { MOST_Z, type Outcome, violationOf } from './outcome.ts';
import { burnPatches } from './patches.ts';

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
    patchDots: PATCH,
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

/** Scorched share of the picture, its hot places among it. */
export async function scorchedShare(
  bench: Bench,
  piece: Piece,
  pass: Pass,
  shares: ReturnType<typeof burnedShares>,
): Promise<number> {
  const { scorched } = await burnedSharesOf(bench, piece, pass, bench.warmthsK(pass), shares);
  if (!bench.piece.heat.carryOver) return scorched;
  const hot = await burnedSharesOf(bench, piece, pass, bench.warmthsK(pass, 'hot'), shares);
  return (1 - HOT_SHARE) * scorched + HOT_SHARE * hot.scorched;
}

/** Standard deviation of the logarithm of the watts that the film's own unevenness asks for; most of the dose goes into the film. */
function filmSpread({ films, filmShares }: Facts): number {
  const mean = films.reduce((sum, film, i) => sum + filmShares[i] * film, 0);
  const variance = films.reduce((sum, film, i) => sum + filmShares[i] * (film - mean) ** 2, 0);
  return Math.max(0.02, (FILM_DOSE_SHARE * Math.sqrt(variance)) / Math.max(1e-6, mean));
}
const FILM_DOSE_SHARE = 0.75;

export type Odds = Pick<Outcome, 'unclearedShare' | 'scorchedShare' | 'clearsZ' | 'unscorchedZ'>;

/** What the burning end does on the piece as it is, on one that is harder to clear and on one that scorches sooner. */
export async function oddsOf(
  bench: Bench,
  pass: Pass,
  warmthsK: readonly number[],
  hardness: Hardness,
  curve: (tone: number) => number,
): Promise<Odds> {
  const shares = burnedShares(bench, curve);
  const burned = (z: number, warmK = warmthsK) =>
    burnedSharesOf(bench, z === 0 ? bench.piece : hardPiece(bench.piece, hardness, z), pass, warmK, shares);
  const given = await burned(0);
  const clears = shares.light.some((share) => share > 0);
  const scorches = bench.piece.stack.coats.length >= 2;
  const slope = Math.min(6, Math.max(0.5, hardness.deviation / filmSpread(bench.facts)));
  const odds = (hard: number, easy: number): Odds => ({
    unclearedShare: given.uncleared,
    scorchedShare: given.scorched,
    clearsZ: clears ? crossingZ(given.uncleared, hard, TRIED_Z, CLEARED_SHARE, slope) : null,
    unscorchedZ: scorches ? crossingZ(given.scorched, easy, TRIED_Z, SCORCH_LIMIT, slope) : MOST_Z,
  });
  if (hardness.deviation < 1e-6) return odds(given.uncleared, given.scorched);
  const guess = odds(given.uncleared, given.scorched);
  if (violationOf(guess) > HOPELESS) return guess;
  const hard = clears ? (await burned(TRIED_Z, bench.warmthsK(pass, 'cool'))).uncleared : 0;
  const easy = scorches ? await scorchedShare(bench, hardPiece(bench.piece, hardness, -TRIED_Z), pass, shares) : 0;
  return odds(hard, easy);
}
