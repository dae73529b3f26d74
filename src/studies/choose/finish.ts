import { Cancelled } from '../../base/cancelled.ts';
import { CLEARED_SHARE } from '../../burn/clearing.ts';
import { fitTones } from '../../burn/fit-tones.ts';
import { createToneCurve } from '../../image/tone.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { drawPiece } from '../sure/spread.ts';
import type { Bench } from './bench.ts';
import { type ChooseHooks, SEARCH_SHARE } from './choose.ts';
import { evaluate } from './evaluate.ts';
import { raisedCurve } from './light-floor.ts';
import { limitsOf } from './limits.ts';
import { burnedShares, burnedSharesOf, SCORCH_LIMIT, scorchedShare } from './odds.ts';
import { WANTED_ODDS } from './outcome.ts';
import type { SettingsSpace } from './settings.ts';
import { settled } from './settle.ts';
import { type ChooseResult, type Suggestion, withSettings } from './suggestion.ts';

/** Drawn pieces per suggestion; their numbers are not those of `howSure`. */
const DRAWS = 40;
const FIRST_DRAW = 5000;
/** Steps of power by which a suggestion that just misses is put right. */
const NUDGE = 1.03;
const MOST_NUDGES = 4;

/** Share of all the work that is done once tones are fitted and odds are drawn. */
export const FINISH_SHARE = 0.65;

/** Fits the tones of each suggestion and draws its odds; power is nudged where the draws tell otherwise than the quick model. */
export async function finish(
  bench: Bench,
  space: SettingsSpace,
  result: ChooseResult,
  hooks: ChooseHooks,
): Promise<ChooseResult> {
  const all = result.nearest ? [result.nearest] : result.suggestions;
  const done: Suggestion[] = [];
  for (const [i, suggestion] of all.entries()) {
    hooks.onProgress?.(SEARCH_SHARE + ((FINISH_SHARE - SEARCH_SHARE) * i) / all.length, 'tones');
    await hooks.breathe?.();
    done.push(await finished(bench, space, suggestion, hooks));
  }
  return settled(result, done);
}

async function finished(
  bench: Bench,
  space: SettingsSpace,
  suggestion: Suggestion,
  hooks: ChooseHooks,
): Promise<Suggestion> {
  let { pass } = suggestion;
  const curve = await fittedCurve(bench, pass, suggestion.solid, hooks.shouldStop);
  let odds = await drawnOdds(bench, pass, curve, hooks);
  for (let nudge = 0; nudge < MOST_NUDGES; nudge++) {
    const weak = odds.clears !== null && odds.clears < WANTED_ODDS;
    const strong = odds.unscorched < WANTED_ODDS;
    if (weak === strong) break;
    const nudged = withHotPower(space, pass, weak ? NUDGE : 1 / NUDGE);
    if (!nudged) break;
    const next = await drawnOdds(bench, nudged, curve, hooks);
    if (Math.min(next.clears ?? 1, next.unscorched) < Math.min(odds.clears ?? 1, odds.unscorched)) break;
    [pass, odds] = [nudged, next];
  }
  const outcome = pass === suggestion.pass ? suggestion.outcome : await evaluate(bench, pass, suggestion.solid);
  return { ...suggestion, pass, curve, odds, outcome, limits: limitsOf(space, pass, outcome) };
}

/** The pass with more or less power at the end that burns; null beyond full power. */
function withHotPower({ lightens }: SettingsSpace, pass: Pass, factor: number): Pass | null {
  const end = lightens ? 'lightEndPower' : 'darkEndPower';
  const power = Math.round(200 * pass[end] * factor) / 200;
  return power > 1 || power === pass[end] ? null : { ...pass, [end]: power };
}

async function fittedCurve(
  bench: Bench,
  pass: Pass,
  solid: number,
  shouldStop?: () => boolean,
): Promise<[number, number][]> {
  const piece = withSettings(bench.piece, pass, null);
  const warmthsK = bench.warmthsK(pass);
  const { curve } = await fitTones(piece, bench.appearance, bench.runner, { rounds: 1, warmthsK, shouldStop });
  return bench.lightens ? raisedCurve(curve, solid) : curve;
}

async function drawnOdds(
  bench: Bench,
  pass: Pass,
  curve: [number, number][],
  { shouldStop, breathe }: ChooseHooks,
): Promise<NonNullable<Suggestion['odds']>> {
  const shares = burnedShares(bench, createToneCurve({ contrast: 0, gamma: 1, curve }));
  const lit = shares.light.some((share) => share > 0);
  const cool = bench.warmthsK(pass, 'cool');
  const scorches = bench.piece.stack.coats.length >= 2;
  let clears = 0;
  let unscorched = 0;
  for (let draw = 0; draw < DRAWS; draw++) {
    if (shouldStop?.()) throw new Cancelled();
    if (draw % 8 === 0) await breathe?.();
    const drawn: Piece = drawPiece(bench.piece, FIRST_DRAW + draw);
    const { uncleared } = await burnedSharesOf(bench, drawn, pass, cool, shares);
    if (uncleared < CLEARED_SHARE) clears++;
    if (!scorches || (await scorchedShare(bench, drawn, pass, shares)) < SCORCH_LIMIT) unscorched++;
  }
  return { clears: lit ? clears / DRAWS : null, unscorched: unscorched / DRAWS, draws: DRAWS };
}
