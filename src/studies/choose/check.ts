import type { Photo } from '../../burn/prepare.ts';
import { createProofPipeline } from '../../burn/proof.ts';
import type { StripRunner } from '../../burn/runner.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { bandsOf } from '../sure/how-sure.ts';
import { type Judge, type Judgement, judged, leastClearingPower } from '../sure/judge.ts';
import type { ChooseHooks } from './choose.ts';
import { FINISH_SHARE } from './finish.ts';
import { WANTED_ODDS } from './outcome.ts';
import { keepsOdds, settled } from './settle.ts';
import { type ChooseResult, type Suggestion, withSettings } from './suggestion.ts';

/** Draws that a suggestion has to stand up to. */
const DRAWS = 60;

/** What the suggestions are for. */
export interface CheckRequest {
  readonly piece: Piece;
  readonly photo: Photo;
}

/**
 * Brings each suggestion before the judge: the picture's own dots and edges under the suggested settings, on all that paint, film and beam
 * may be. Power is raised where too few clear; what then still falls short of the odds is not suggested any more. Minutes and rows are
 * those of the whole picture.
 * @throws Cancelled.
 */
export async function check(
  request: CheckRequest,
  result: ChooseResult,
  runner: StripRunner,
  hooks: ChooseHooks = {},
): Promise<ChooseResult> {
  const all = result.nearest ? [result.nearest] : result.suggestions;
  const checked: Suggestion[] = [];
  for (const [i, suggestion] of all.entries()) {
    hooks.onProgress?.(FINISH_SHARE + ((1 - FINISH_SHARE) * i) / all.length, 'proof');
    checked.push(await checkedOn(request, suggestion, result.lightens, runner, hooks));
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
  suggestion: Suggestion,
  lightens: boolean,
  runner: StripRunner,
  { shouldStop = () => false, breathe = async () => {} }: ChooseHooks,
): Promise<Suggestion> {
  // One of its own for each: pictures at other pitches would only fill the memory.
  const pipeline = createProofPipeline();
  const set = withSettings(piece, suggestion.pass, suggestion.curve);
  const ready = await pipeline.ready({ piece: set, photo }, { shouldStop, breathe });
  const goOn = async () => {
    await breathe();
    return !shouldStop();
  };
  const { judge, judgement } = await judged(set, ready, runner, DRAWS, goOn);
  const { pass, said } = await raised(set, judge, judgement);
  const bands = bandsOf(said, judge.lit);
  return {
    ...suggestion,
    pass,
    odds: { clears: said.clears, unscorched: lightens ? said.unscorched : 1, draws: DRAWS },
    checked: {
      minutes: ready.passes[0].timeS / 60,
      rows: ready.passes[0].rows,
      unclearedShare: bands.uncleared?.middle ?? null,
      scorchedShare: bands.scorched.middle,
    },
  };
}

/** With more power if that is all that is missing. */
async function raised(piece: Piece, judge: Judge, now: Judgement): Promise<{ pass: Pass; said: Judgement }> {
  const [pass] = piece.passes;
  if (now.clears === null || now.clears >= WANTED_ODDS) return { pass, said: now };
  const withPower = (lightEndPower: number): Piece => ({ ...piece, passes: [{ ...pass, lightEndPower }] });
  const found = await leastClearingPower(judge, now, withPower, WANTED_ODDS, pass.lightEndPower);
  if (!found || found.judgement.unscorched < WANTED_ODDS) return { pass, said: now };
  return { pass: withPower(found.power).passes[0], said: found.judgement };
}
