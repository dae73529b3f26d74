import type { CoarseScene } from '../../burn/coarse-scene.ts';
import type { StripRunner } from '../../burn/runner.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import type { Pass, Piece, ScreenMethod } from '../../piece/schema.ts';
import { type Bench, createBench } from './bench.ts';
import { evaluate } from './evaluate.ts';
import { finish } from './finish.ts';
import { paretoFront } from './front.ts';
import { limitsOf, obstacleOf } from './limits.ts';
import { costOf, type Outcome, violationOf, type Wishes } from './outcome.ts';
import { leanings, MOST_SUGGESTIONS, pickTradeOffs } from './picks.ts';
import { type Found, type Place, search } from './search.ts';
import { passAt, placeOf, type SettingsSpace, settingsSpace, solidAt, VARIABLES } from './settings.ts';
import type { ChooseResult, Suggestion } from './suggestion.ts';

export interface ChooseRequest {
  readonly piece: Piece;
  readonly scene: CoarseScene;
  readonly appearance: AppearanceTable;
  readonly wishes: Wishes;
  /** Candidates that are burned at most; the default suits a search of a few seconds. */
  readonly budget?: number;
  /** Suggestions at most. */
  readonly most?: number;
}

export interface ChooseHooks {
  /** Suggestions so far, best first guesses to begin with. */
  readonly onPartial?: (result: ChooseResult) => void;
  readonly onProgress?: (share: number, stage: string) => void;
  readonly shouldStop?: () => boolean;
  /** Awaited every now and then, so that messages can come in where it runs. */
  readonly breathe?: () => Promise<void>;
}

const BUDGET = 130;
const SCATTERED = 14;
const SEED = 0xc405e;
/** Share of all the work that the search takes. */
export const SEARCH_SHARE = 0.45;

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
  runner: StripRunner,
  hooks: ChooseHooks = {},
): Promise<ChooseResult> {
  const { piece, scene, appearance, budget = BUDGET } = request;
  const bench = createBench(piece, scene, appearance, runner);
  if (bench.facts.tones.every((share) => share === 0)) throw new RangeError('nothing of the picture lies on the slab');
  const space = settingsSpace(piece, bench.facts, (pass) => bench.warmthsK(pass)[0] ?? 0);
  const known = new Map<string, Candidate>();
  let count = 0;
  const tryPlace = async (place: Place): Promise<Candidate> => {
    const pass = passAt(space, place);
    const solid = solidAt(place);
    const key = JSON.stringify([pass, solid]);
    const seen = known.get(key);
    if (seen) return seen;
    if (count++ % 4 === 0) {
      hooks.onProgress?.((SEARCH_SHARE * Math.min(budget, count)) / budget, 'search');
      await hooks.breathe?.();
    }
    const candidate = { pass, solid, outcome: await evaluate(bench, pass, solid) };
    known.set(key, candidate);
    return candidate;
  };
  const found = await search<Candidate>({
    variables: VARIABLES,
    kinds: space.screens.length,
    evaluate: tryPlace,
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
    shouldStop: hooks.shouldStop,
    onRound: (so, share) => {
      if (share < 1) hooks.onPartial?.(resultOf(bench, space, so, request));
    },
  });
  const searched = resultOf(bench, space, found, request);
  hooks.onPartial?.(searched);
  return finish(bench, space, searched, hooks);
}

/** Row pitch at which dots clear and nothing scorches over the widest range of powers: rows about as far apart as the spot's radius. */
const WIDE_ROWS = 0.65;

/** The piece's own settings, and some that should clear at several feeds; full power at the slowest feed shows whether anything can. */
function startsOf(space: SettingsSpace): Place[] {
  const own = placeOf(space, space.piece.passes[0]);
  const at = (power: number, feed: number, pitch: number, solid: number, kind = own.kind): Place => ({
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
  { lightens, endsL }: Bench,
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
