import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import { WANTED_ODDS } from '../choose/outcome.ts';
import { bandsOf } from '../sure/how-sure.ts';
import { outcomeOf } from '../sure/outcome.ts';
import { drawPiece } from '../sure/spread.ts';
import type { Case } from './case.ts';
import { clearingChange } from './clearing-change.ts';
import { type Cause, type Finding, towards } from './finding.ts';
import { inLikelyCases, percent } from './words.ts';

/** Draws that are burned once more with an even film, to tell whether the film or the paint is to blame. */
const BLAME_DRAWS = 12;

/** Light areas that clear on the film shown, but not on enough of those that may lie there, or of what paint and beam may be. */
export async function findUnsureClearing(of: Case): Promise<Finding | null> {
  const { piece, judgement, judge } = of;
  const { clears } = judgement;
  if (clears === null || clears >= WANTED_ODDS) return null;
  const cause = await blame(of);
  const why =
    cause === 'film'
      ? 'the film lies unevenly, and nobody knows where it is thick'
      : piece.certainty.source === 'calibrated'
        ? 'what the card left open of paint and beam is enough to leave some of it dark'
        : 'how this paint takes this beam is known roughly only, until a card is burned';
  const worst = bandsOf(judgement, judge.lit).uncleared?.high ?? 0;
  return {
    kind: 'unsure',
    severity: 100 * towards(1 - clears, 0.25),
    sentence: `The light areas clear ${inLikelyCases(clears)}; in one of ten ${percent(worst)} of them or more stay dark: ${why}.`,
    value: 1 - clears,
    unit: 'share',
    place: null,
    causes: [cause],
    change: await clearingChange(of, { uncleared: 1 - clears, residueUm: 0, scorched: 0 }, cause),
  };
}

/** A picture that stays unscorched as shown, but not in enough cases. */
export function findMayScorch({ judgement, proof }: Case): Finding | null {
  const { unscorched } = judgement;
  if (unscorched >= WANTED_ODDS || proof.summary.scorchedShare >= SCORCHED_SHARE) return null;
  return {
    kind: 'may-scorch',
    severity: 100 * towards(1 - unscorched, 0.25),
    sentence: `The undercoat stays unscorched ${inLikelyCases(unscorched)} only: less power, or a card burned first, makes it surer.`,
    value: 1 - unscorched,
    unit: 'share',
    place: null,
    causes: ['power'],
    change: null,
  };
}

async function blame({ judge, piece }: Case): Promise<Cause> {
  const even = judge.sample.layout.places.map(() => 1);
  let cleared = 0;
  for (let draw = 0; draw < BLAME_DRAWS; draw++) {
    const { uncleared } = outcomeOf(judge.sample, await judge.sample.burn(drawPiece(piece, draw), even));
    if (uncleared < CLEARED_SHARE) cleared++;
  }
  return cleared >= WANTED_ODDS * BLAME_DRAWS ? 'film' : 'paint';
}
