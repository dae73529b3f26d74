import { breathe } from '../../base/stop.ts';
import { CLEARED_SHARE } from '../../burn/clearing.ts';
import { fitTones } from '../../burn/fit-tones.ts';
import type { Photo } from '../../burn/prepare.ts';
import { createProofPipeline } from '../../burn/proof.ts';
import type { ReadyPicture } from '../../burn/ready-picture.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import type { CoarseScene } from '../../burn/tone-scale.ts';
import { createToneCurve } from '../../image/tone.ts';
import { meanWarmthsK } from '../../physics/heat/warmth.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece, ScreenMethod } from '../../piece/schema.ts';
import { bandsOf } from '../sure/how-sure.ts';
import { firstDraws, JUDGE_DRAWS, type Judge, type Judgement, judged, leastClearingPower } from '../sure/judge.ts';
import { drawPiece } from '../sure/spread.ts';
import { type Facts, factsOf } from './facts.ts';
import { evaluate, toneErrorAsGiven } from './look.ts';
import {
  burnedShares,
  burnedSharesOf,
  costOf,
  marginOf,
  type Outcome,
  raisedCurve,
  SCORCH_LIMIT,
  scorchedShare,
  violationOf,
  WANTED_ODDS,
  type Wishes,
} from './odds.ts';
import { type Found, type SearchPoint, search } from './search.ts';
import {
  type ChooseResult,
  keepsOdds,
  limitsOf,
  obstacleOf,
  passAt,
  placeOf,
  type Role,
  type SettingsSpace,
  type Suggestion,
  settingsSpace,
  settled,
  solidAt,
  VARIABLES,
  withSettings,
} from './settings.ts';
import { createTrials, type Trials } from './trials.ts';

interface ChooseRequest {
  readonly piece: Piece;
  readonly scene: CoarseScene;
  readonly appearance: AppearanceTable;
  readonly wishes: Wishes;
  /** Candidates that are burned at most; the default suits a search of a few seconds. */
  readonly budget?: number;
  /** Suggestions at most. */
  readonly most?: number;
}

interface ChooseHooks {
  /** Suggestions so far, best first guesses to begin with. */
  readonly onPartial?: (result: ChooseResult) => void;
  readonly onProgress?: (share: number, stage: string) => void;
  readonly signal?: AbortSignal;
}

const BUDGET = 130;

const SCATTERED = 14;

const SEED = 0xc405e;

/** Share of all the work that the search takes. */
const SEARCH_SHARE = 0.45;

interface Candidate {
  readonly pass: Pass;
  readonly solid: number;
  readonly outcome: Outcome;
}

/**
 * Looks for settings of one pass: burns small patches of many candidates, picks a handful of trade-offs, fits their tones and draws what
 * paint and beam may truly be. What a proof says of them is `check`'s business.
 * @throws Cancelled; RangeError if nothing of the picture burns.
 */
export async function choose(
  request: ChooseRequest,
  runner: SwathRunner,
  hooks: ChooseHooks = {},
): Promise<ChooseResult> {
  const { piece, scene, appearance, budget = BUDGET } = request;
  const trials = createTrials(piece, scene, appearance, runner);
  if (trials.facts.tones.every((share) => share === 0)) throw new RangeError('nothing of the picture lies on the slab');
  const space = settingsSpace(piece, trials.facts, (pass) => trials.warmthsK(pass)[0] ?? 0);
  const known = new Map<string, Candidate>();
  let count = 0;
  const tryPoint = async (place: SearchPoint): Promise<Candidate> => {
    const pass = passAt(space, place);
    const solid = solidAt(place);
    const key = JSON.stringify([pass, solid]);
    const seen = known.get(key);
    if (seen) return seen;
    if (count++ % 4 === 0) {
      hooks.onProgress?.((SEARCH_SHARE * Math.min(budget, count)) / budget, 'search');
    }
    const candidate = { pass, solid, outcome: await evaluate(trials, pass, solid) };
    known.set(key, candidate);
    return candidate;
  };
  const found = await search<Candidate>({
    variables: VARIABLES,
    kinds: space.screens.length,
    evaluate: tryPoint,
    starts: startsOf(space),
    costs: Object.values(leanings(request.wishes))
      .slice(0, request.most ?? MOST_SUGGESTIONS)
      .map(
        (leaning) =>
          ({ outcome }: Candidate) =>
            costOf(outcome, leaning),
      ),
    seed: SEED,
    scattered: SCATTERED,
    budget,
    signal: hooks.signal,
    onRound: (so, share) => {
      if (share < 1) hooks.onPartial?.(resultOf(trials, space, so, request));
    },
  });
  const searched = resultOf(trials, space, found, request);
  hooks.onPartial?.(searched);
  return finish(trials, space, searched, hooks);
}

/** Row pitch at which dots clear and nothing scorches over the widest range of powers: rows about as far apart as the spot's radius. */
const WIDE_ROWS = 0.65;

/** The piece's own settings, and some that should clear at several feeds; full power at the slowest feed shows whether anything can. */
function startsOf(space: SettingsSpace): SearchPoint[] {
  const own = placeOf(space, space.piece.passes[0]);
  const at = (power: number, feed: number, pitch: number, solid: number, kind = own.kind): SearchPoint => ({
    at: [power, feed, pitch, 0, 0, solid],
    kind,
  });
  const [, feed, pitch] = own.at;
  const other = (name: ScreenMethod) => Math.max(0, space.screens.indexOf(name));
  return [
    own,
    at(0.5, feed, pitch, 1),
    at(0.5, feed, WIDE_ROWS, 1),
    at(0.5, 0.75, WIDE_ROWS, 1),
    at(0.5, 0.6, WIDE_ROWS, 1),
    at(0.5, 0.6, WIDE_ROWS, 1, other('blue-noise')),
    at(0.5, 0.45, WIDE_ROWS, 1, other('floyd-steinberg')),
    at(0.5, 0.3, pitch, 0),
    at(1, 0, 0, 1),
  ];
}

function resultOf(
  { lightens, endsL }: Trials,
  space: SettingsSpace,
  found: readonly Found<Candidate>[],
  { wishes, most }: ChooseRequest,
): ChooseResult {
  const candidates = [...new Set(found.map(({ value }) => value))];
  const obstacle = obstacleOf(
    candidates.map(({ outcome }) => outcome),
    endsL[1] - endsL[0],
    lightens,
  );
  const suggestion = ({ pass, solid, outcome }: Candidate, role: Suggestion['role'], i: number): Suggestion => ({
    id: `suggestion-${i + 1}`,
    role,
    pass,
    solid,
    curve: null,
    outcome,
    odds: null,
    checked: null,
    limits: limitsOf(space, pass, outcome),
  });
  const picks = obstacle ? [] : pickTradeOffs(candidates, wishes, most);
  const nearest = obstacle
    ? candidates.reduce((a, b) => (costOf(b.outcome, wishes) < costOf(a.outcome, wishes) ? b : a))
    : null;
  const kept = candidates.filter(({ outcome }) => violationOf(outcome) === 0);
  const front = new Set(
    paretoFront(
      kept,
      ({ outcome }) => outcome.minutes,
      ({ outcome }) => outcome.qualityLossL,
    ),
  );
  return {
    suggestions: picks.map(({ item, role }, i) => suggestion(item, role, i)),
    obstacle,
    nearest: nearest && suggestion(nearest, 'best', 0),
    seen: kept.map((one) => ({
      minutes: one.outcome.minutes,
      qualityLossL: one.outcome.qualityLossL,
      front: front.has(one),
    })),
    evaluated: found.length,
    final: false,
    lightens,
  };
}

/** Suggestions at most. */
const MOST_SUGGESTIONS = 4;

/** The wishes, and each of them leaning towards one side: what else is worth a look. */
const leanings = (wishes: Wishes): Record<Exclude<Role, 'between'>, Wishes> => ({
  best: wishes,
  quickest: { ...wishes, minutes: 4 * wishes.minutes + 150 },
  finest: { ...wishes, quality: 4 * wishes.quality + 150 },
  safest: { ...wishes, safety: 4 * wishes.safety + 100 },
});

/** A handful of trade-offs among outcomes that keep the limits, by minutes rising, each with why it is there. */
export function pickTradeOffs<Item extends { readonly outcome: Outcome }>(
  items: readonly Item[],
  wishes: Wishes,
  most = MOST_SUGGESTIONS,
): { readonly item: Item; readonly role: Role }[] {
  const kept = items.filter(({ outcome }) => violationOf(outcome) === 0);
  if (kept.length === 0) return [];
  const taken: Item[] = [];
  for (const leaning of Object.values(leanings(wishes))) {
    const next = kept.reduce((a, b) => (costOf(b.outcome, leaning) < costOf(a.outcome, leaning) ? b : a));
    if (taken.length < most && !taken.some(({ outcome }) => alike(outcome, next.outcome))) taken.push(next);
  }
  const [best] = taken;
  const respects = [
    ({ outcome }: Item) => Math.log(outcome.minutes) / MINUTES_APART,
    ({ outcome }: Item) => outcome.qualityLossL / QUALITY_APART_L,
  ] as const;
  const front = paretoFront(kept, respects[0], respects[1]);
  const candidates = [...new Set([...front, ...taken])].sort((a, b) => a.outcome.minutes - b.outcome.minutes);
  const picked = spreadPicks(candidates, respects, most, taken);
  const useful = picked.filter((item) => item === best || !picked.some((other) => beats(other.outcome, item.outcome)));
  const least = (of: (outcome: Outcome) => number) => useful.reduce((a, b) => (of(b.outcome) < of(a.outcome) ? b : a));
  const roles: readonly (readonly [Item, Role])[] = [
    [best, 'best'],
    [least(({ minutes }) => minutes), 'quickest'],
    [least(({ qualityLossL }) => qualityLossL), 'finest'],
    [least((outcome) => -marginOf(outcome)), 'safest'],
  ];
  return useful.map((item) => ({ item, role: roles.find(([one]) => one === item)?.[1] ?? 'between' }));
}

/** Nothing speaks for the second: longer, worse and no safer. */
const beats = (a: Outcome, b: Outcome): boolean =>
  a !== b && a.minutes <= b.minutes && a.qualityLossL <= b.qualityLossL && marginOf(a) > marginOf(b) - 0.1;

/** Differences that make two worth showing: of the minutes' logarithm, of quality in L*, of the margin in standard deviations. */
const MINUTES_APART = 0.12;

const QUALITY_APART_L = 0.5;

const MARGIN_APART = 0.4;

const alike = (a: Outcome, b: Outcome): boolean =>
  Math.hypot(Math.log(a.minutes / b.minutes) / MINUTES_APART, (a.qualityLossL - b.qualityLossL) / QUALITY_APART_L) <
    1 && Math.abs(marginOf(a) - marginOf(b)) < MARGIN_APART;

/**
 * Those of which no other is at least as good in both respects and better in one, by the first respect rising (Pareto front; the
 * smaller the better in both).
 */
export function paretoFront<Item>(
  items: readonly Item[],
  first: (item: Item) => number,
  second: (item: Item) => number,
): Item[] {
  const sorted = [...items].sort((a, b) => first(a) - first(b) || second(a) - second(b));
  const front: Item[] = [];
  for (const item of sorted) {
    if (front.length === 0 || second(item) < second(front[front.length - 1])) front.push(item);
  }
  return front;
}

/**
 * A handful from a front, well apart: `kept` first, then again and again whatever is furthest from all that are taken, in the respects'
 * own units. Stops where the next would be nearer than 1. Keeps the front's order.
 */
export function spreadPicks<Item>(
  front: readonly Item[],
  respects: readonly ((item: Item) => number)[],
  count: number,
  kept: readonly Item[],
): Item[] {
  const distance = (a: Item, b: Item) => Math.hypot(...respects.map((respect) => respect(a) - respect(b)));
  const picked: Item[] = [...kept];
  while (picked.length < count) {
    const apart = (item: Item) => Math.min(...picked.map((other) => distance(item, other)), Number.POSITIVE_INFINITY);
    const next = front.reduce<Item | null>((best, item) => (best && apart(best) >= apart(item) ? best : item), null);
    if (!next || apart(next) < 1) break;
    picked.push(next);
  }
  return front.filter((item) => picked.includes(item));
}

/** Draws that a suggestion has to stand up to; its odds are told by those of a verdict, so that both say the same. */
const JUDGED_DRAWS = 60;

/** How often tones are fitted anew to power that was put right. */
const MOST_FITS = 2;

/** What the suggestions are for. */
interface CheckRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  /** The picture on the film that its proof shows. */
  readonly scene: CoarseScene;
}

/**
 * Brings each suggestion before the judge: the picture's own dots and edges under the suggested settings, on all that paint, film and beam
 * may be. Power is raised where too few clear and lowered where too many scorch, and the tones are fitted to what it has become; what then
 * still falls short of the odds is not suggested any more. Minutes and rows are those of the whole picture.
 * @throws Cancelled.
 */
export async function check(
  request: CheckRequest,
  result: ChooseResult,
  runner: SwathRunner,
  hooks: ChooseHooks = {},
): Promise<ChooseResult> {
  const all = result.nearest ? [result.nearest] : result.suggestions;
  const facts = factsOf(request.piece, request.scene);
  const checked: Suggestion[] = [];
  for (const [i, suggestion] of all.entries()) {
    hooks.onProgress?.(FINISH_SHARE + ((1 - FINISH_SHARE) * i) / all.length, 'proof');
    checked.push(await checkedOn(request, facts, suggestion, result.lightens, runner, hooks));
    const rest = all.slice(i + 1);
    hooks.onPartial?.(
      result.nearest
        ? { ...result, nearest: checked[0], final: false }
        : { ...result, suggestions: [...checked.filter(keepsOdds), ...rest], final: false },
    );
  }
  return settled(result, checked);
}

async function checkedOn(
  { piece, photo }: CheckRequest,
  facts: Facts,
  suggestion: Suggestion,
  lightens: boolean,
  runner: SwathRunner,
  { signal }: ChooseHooks,
): Promise<Suggestion> {
  // One of its own for each: pictures at other pitches would only fill the memory.
  const pipeline = createProofPipeline();
  const readyAt = (set: Piece) => pipeline.ready({ piece: set, photo }, signal, runner);
  const warmthsOf = ({ warmths }: ReadyPicture) => (piece.heat.carryOver ? meanWarmthsK(warmths) : []);
  /** Tones fitted to how warm the picture itself gets. */
  const fittedAt = async (pass: Pass, before: ReadyPicture) => {
    const options = { rounds: 1, warmthsK: warmthsOf(before), signal };
    const { curve } = await fitTones(withSettings(piece, pass, null), before.appearance, runner, options);
    return lightens ? raisedCurve(curve, suggestion.solid) : curve;
  };
  const judgedAt = async (pass: Pass, before: ReadyPicture) => {
    const curve = await fittedAt(pass, before);
    const set = withSettings(piece, pass, curve);
    const ready = await readyAt(set);
    return { pass, curve, set, ready, ...(await judged(set, ready, runner, JUDGED_DRAWS, { signal })) };
  };
  let now = await judgedAt(suggestion.pass, await readyAt(withSettings(piece, suggestion.pass, suggestion.curve)));
  for (let fits = 0; fits < MOST_FITS; fits++) {
    const pass = await settledPass(now.set, now.judge, now.judgement);
    if (pass === now.pass) break;
    now = await judgedAt(pass, now.ready);
  }
  const { pass, curve, set, ready, judge, judgement } = now;
  const said = firstDraws(judgement, judge.lit, JUDGE_DRAWS);
  const bands = bandsOf(said, judge.lit);
  return {
    ...suggestion,
    pass,
    curve,
    odds: {
      clears: said.clears,
      unscorched: lightens ? said.unscorched : 1,
      least: Math.min(...[said, judgement].map((one) => Math.min(one.clears ?? 1, lightens ? one.unscorched : 1))),
      draws: JUDGE_DRAWS,
    },
    checked: {
      minutes: ready.passes[0].timeS / 60,
      rows: ready.passes[0].rows,
      unclearedShare: bands.uncleared?.middle ?? null,
      scorchedShare: bands.scorched.middle,
      toneErrorL: await toneErrorAsGiven(set, facts, ready.appearance, runner, warmthsOf(ready)),
    },
  };
}

/** Below this share of its power no suggestion is tried: its tones would be others. */
const LEAST_OF_POWER = 0.7;

/** The least power that clears with the odds wished, which scorches least, where too few clear or too many scorch as it is. */
async function settledPass(piece: Piece, judge: Judge, now: Judgement): Promise<Pass> {
  const [pass] = piece.passes;
  const scorches = now.unscorched < WANTED_ODDS;
  if (now.clears === null || (now.clears >= WANTED_ODDS && !scorches)) return pass;
  const withPower = (lightEndPower: number): Piece => ({ ...piece, passes: [{ ...pass, lightEndPower }] });
  const from = now.clears >= WANTED_ODDS ? LEAST_OF_POWER * pass.lightEndPower : pass.lightEndPower;
  const found = await leastClearingPower(judge, now, withPower, WANTED_ODDS, from);
  if (!found || found.judgement.unscorched < Math.min(WANTED_ODDS, now.unscorched)) return pass;
  return found.power === pass.lightEndPower ? pass : withPower(found.power).passes[0];
}

/** Drawn pieces per suggestion; their numbers are not those of `howSure`. */
const NUDGE_DRAWS = 40;

const FIRST_DRAW = 5000;

/** Steps of power by which a suggestion that just misses is put right. */
const NUDGE = 1.03;

const MOST_NUDGES = 4;

/** Share of all the work that is done once tones are fitted and odds are drawn. */
const FINISH_SHARE = 0.65;

/** Fits the tones of each suggestion and draws its odds; power is nudged where the draws tell otherwise than the quick model. */
async function finish(
  trials: Trials,
  space: SettingsSpace,
  result: ChooseResult,
  hooks: ChooseHooks,
): Promise<ChooseResult> {
  const all = result.nearest ? [result.nearest] : result.suggestions;
  const done: Suggestion[] = [];
  for (const [i, suggestion] of all.entries()) {
    hooks.onProgress?.(SEARCH_SHARE + ((FINISH_SHARE - SEARCH_SHARE) * i) / all.length, 'tones');
    done.push(await finished(trials, space, suggestion, hooks));
  }
  return settled(result, done);
}

async function finished(
  trials: Trials,
  space: SettingsSpace,
  suggestion: Suggestion,
  hooks: ChooseHooks,
): Promise<Suggestion> {
  let { pass } = suggestion;
  const curve = await fittedCurve(trials, pass, suggestion.solid, hooks.signal);
  let odds = await drawnOdds(trials, pass, curve, hooks);
  for (let nudge = 0; nudge < MOST_NUDGES; nudge++) {
    const weak = odds.clears !== null && odds.clears < WANTED_ODDS;
    const strong = odds.unscorched < WANTED_ODDS;
    if (weak === strong) break;
    const nudged = withHotPower(space, pass, weak ? NUDGE : 1 / NUDGE);
    if (!nudged) break;
    const next = await drawnOdds(trials, nudged, curve, hooks);
    if (Math.min(next.clears ?? 1, next.unscorched) < Math.min(odds.clears ?? 1, odds.unscorched)) break;
    [pass, odds] = [nudged, next];
  }
  const outcome = pass === suggestion.pass ? suggestion.outcome : await evaluate(trials, pass, suggestion.solid);
  return { ...suggestion, pass, curve, odds, outcome, limits: limitsOf(space, pass, outcome) };
}

/** The pass with more or less power at the end that burns; null beyond full power. */
function withHotPower({ lightens }: SettingsSpace, pass: Pass, factor: number): Pass | null {
  const end = lightens ? 'lightEndPower' : 'darkEndPower';
  const power = Math.round(200 * pass[end] * factor) / 200;
  return power > 1 || power === pass[end] ? null : { ...pass, [end]: power };
}

async function fittedCurve(
  trials: Trials,
  pass: Pass,
  solid: number,
  signal?: AbortSignal,
): Promise<[number, number][]> {
  const piece = withSettings(trials.piece, pass, null);
  const warmthsK = trials.warmthsK(pass);
  const { curve } = await fitTones(piece, trials.appearance, trials.runner, { rounds: 1, warmthsK, signal });
  return trials.lightens ? raisedCurve(curve, solid) : curve;
}

async function drawnOdds(
  trials: Trials,
  pass: Pass,
  curve: [number, number][],
  { signal }: ChooseHooks,
): Promise<NonNullable<Suggestion['odds']>> {
  const shares = burnedShares(trials, createToneCurve({ ...NEUTRAL_TONE, curve }));
  const lit = shares.light.some((share) => share > 0);
  const cool = trials.warmthsK(pass, 'cool');
  const scorches = trials.piece.stack.coats.length >= 2;
  let clears = 0;
  let unscorched = 0;
  for (let draw = 0; draw < NUDGE_DRAWS; draw++) {
    await breathe(signal);
    const drawn: Piece = drawPiece(trials.piece, FIRST_DRAW + draw);
    const { uncleared } = await burnedSharesOf(trials, drawn, pass, cool, shares);
    if (uncleared < CLEARED_SHARE) clears++;
    if (!scorches || (await scorchedShare(trials, drawn, pass, shares)) < SCORCH_LIMIT) unscorched++;
  }
  const odds = { clears: lit ? clears / NUDGE_DRAWS : null, unscorched: unscorched / NUDGE_DRAWS };
  return { ...odds, least: Math.min(odds.clears ?? 1, odds.unscorched), draws: NUDGE_DRAWS };
}
