import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../base/units.ts';
import { SCORCHED_SHARE } from '../../burn/clearing.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { WANTED_ODDS } from '../choose/outcome.ts';
import { type Judgement, leastClearingPower, leastClearingStep } from '../sure/judge.ts';
import { acrossRadiusMm, type Case, heightsOf, lightEndOf, strongestPass } from './case.ts';
import { applyEdits, type Cause, type Change, type Edit } from './finding.ts';
import type { LightOutlook } from './outlook.ts';
import { highest, lowest } from './search.ts';
import { about, inLikelyCases, mm, percent, points } from './words.ts';

/** Uncleared share to come down to. */
const AIM_SHARE = 0.02;
/** A change must take at least this share of the trouble away to be worth a button. */
const WORTH = 0.5;
const FEED_STEP_MM_PER_MIN = 50;
const SLOWEST = 0.2;

/** What would clear the light areas, tried on even patches; null if nothing within the machine's reach helps much. */
export async function clearingChange(of: Case, now: LightOutlook, cause: Cause): Promise<Change | null> {
  const { piece, outlooks, proof } = of;
  const { unclearedShare } = proof.summary;
  if (cause === 'slab-not-flat') return warpedChange(of);
  // Where patches see less of the trouble than the proof does, they must come down further.
  const aim =
    Math.min(AIM_SHARE, 0.3 * unclearedShare) *
    Math.min(1, Math.max(0.2, now.uncleared / Math.max(1e-3, unclearedShare)));
  const first = firstEdits(piece, cause);
  const begun = applyEdits(
    piece,
    first.map(({ edit }) => edit),
  );
  let edits = first.map(({ edit }) => edit);
  let words = first.map((one) => one.words);
  if (cause === 'row-pitch' || (await outlooks.light(begun)).uncleared > aim) {
    const stronger = await enoughEnergy(of, begun, aim, cause === 'row-pitch');
    edits = [...edits, ...stronger.edits];
    words = [...words, ...stronger.words];
  }
  if (edits.length === 0) return null;
  const then = await outlooks.light(applyEdits(piece, edits));
  const whole = await outlooks.whole(applyEdits(piece, edits));
  const scorches = whole.scorched > Math.max(SCORCHED_SHARE, 1.5 * of.now.scorched);
  const judgement = keepsDots(edits) ? await of.judge.of(applyEdits(piece, edits)) : null;
  if (judgement && !isBetter(judgement, of.judgement)) return null;
  if (!judgement && unclearedShare > 0 && then.uncleared > (1 - WORTH) * Math.max(now.uncleared, unclearedShare))
    return null;
  return {
    words: `Set ${words.join(' and ')}`,
    outcome: judgement
      ? `The light areas then clear ${inLikelyCases(judgement.clears ?? 1)}${judgement.unscorched < WANTED_ODDS ? `; the undercoat stays unscorched ${inLikelyCases(judgement.unscorched)}` : ''}.`
      : `${about(then.uncleared)} of the light areas then stay uncleared${scorches ? `, but ${percent(whole.scorched)} of the picture scorches` : ''}.`,
    edits,
  };
}

/** Whether a picture set so still has the dots that the judge knows. */
const keepsDots = (edits: readonly Edit[]): boolean =>
  edits.every(
    (edit) => edit.of !== 'tone' && !(edit.of === 'pass' && ('rowPitchMm' in edit.set || 'screen' in edit.set)),
  );

/** Half of what is missing to the wanted odds, at least. */
const isBetter = (then: Judgement, now: Judgement): boolean =>
  then.accepted >= Math.min(WANTED_ODDS, now.accepted + WORTH * (1 - now.accepted));

/**
 * For a slab that is not flat: the focus half way between its lowest and its highest place, and the power that clears there. Tried as if the
 * whole face were as far out of focus as those two.
 */
async function warpedChange(of: Case): Promise<Change | null> {
  const { piece, proof, outlooks } = of;
  const [low, high] = heightsOf(piece, proof.grid);
  const focusOffsetMm = Math.round(5 * (low + high)) / 10;
  const setAll = (offsetMm: number): Edit[] =>
    piece.passes.map((_, index) => ({ of: 'pass', index, set: { focusOffsetMm: offsetMm } }));
  const outOfFocus = applyEdits(piece, setAll((high - low) / 2));
  const begun = await outlooks.light(outOfFocus);
  const stronger = begun.uncleared > AIM_SHARE ? await enoughEnergy(of, outOfFocus, AIM_SHARE, false) : null;
  for (const more of stronger ? [stronger, null] : [null]) {
    const edits = [...setAll(focusOffsetMm), ...(more?.edits ?? [])];
    const { uncleared } = more ? await outlooks.light(applyEdits(outOfFocus, more.edits)) : begun;
    if (uncleared > (1 - WORTH) * proof.summary.unclearedShare) return null;
    // What is in focus gets the power too.
    if (more && (await outlooks.whole(applyEdits(piece, edits))).scorched > SCORCHED_SHARE) continue;
    return {
      words: `Set ${[`the focus offset to ${mm(focusOffsetMm)}`, ...(more?.words ?? [])].join(' and ')}`,
      outcome: `At most about ${percent(uncleared)} of the light areas then stay uncleared.`,
      edits,
    };
  }
  return null;
}

/** Puts right what is out of the ordinary. */
function firstEdits(piece: Piece, cause: Cause): { edit: Edit; words: string }[] {
  const each = (part: (pass: Pass) => Partial<Pass> | null, words: (pass: Pass, set: Partial<Pass>) => string) =>
    piece.passes.flatMap((pass, index) => {
      const set = part(pass);
      const which = piece.passes.length > 1 ? ` of pass ${index + 1}` : '';
      return set ? [{ edit: { of: 'pass' as const, index, set }, words: words(pass, set).replace('%', which) }] : [];
    });
  if (cause === 'focus') {
    return each(
      (pass) => (pass.focusOffsetMm === 0 ? null : { focusOffsetMm: 0 }),
      () => 'the focus offset% to 0 mm',
    );
  }
  if (cause === 'row-pitch') {
    return each(
      (pass) => {
        const pitch = Math.max(0.01, Math.floor(100 * acrossRadiusMm(piece, pass)) / 100);
        return pitch < pass.rowPitchMm ? { rowPitchMm: pitch } : null;
      },
      (_, set) => `the row pitch% to ${mm(set.rowPitchMm!)}`,
    );
  }
  return [];
}

/**
 * The least power that clears; where full power is not enough, the fastest feed that does. `closer`: rows have moved together, so
 * that less than now may do, but not less than brings the same to the area.
 */
async function enoughEnergy(
  { piece: before, outlooks, judge, judgement }: Case,
  piece: Piece,
  aim: number,
  closer: boolean,
): Promise<{ edits: Edit[]; words: string[] }> {
  const index = strongestPass(piece);
  const pass = piece.passes[index];
  const tried = (set: Partial<Pass>) => outlooks.light(applyEdits(piece, [{ of: 'pass', index, set }]));
  const clears = async (set: Partial<Pass>) => (await tried(set)).uncleared <= aim;
  const same = closer ? (pass.lightEndPower * pass.rowPitchMm) / before.passes[index].rowPitchMm : pass.lightEndPower;
  const from = Math.min(100, closer ? Math.ceil(100 * same - 1e-6) : Math.floor(100 * same + 1e-6) + 1);
  const withPower = (power: number) => applyEdits(piece, [{ of: 'pass', index, set: { lightEndPower: power } }]);
  const found = closer ? null : await leastClearingPower(judge, judgement, withPower, WANTED_ODDS, from / 100);
  const percentOfFull = closer
    ? await lowest(from, 100, (power) => clears({ lightEndPower: power / 100 }))
    : found && Math.round(100 * found.power);
  const name = lightEndOf(piece, index);
  if (percentOfFull !== null) {
    const rise = percentOfFull - Math.round(100 * pass.lightEndPower);
    if (rise === 0) return { edits: [], words: [] };
    return {
      edits: [{ of: 'pass', index, set: { lightEndPower: percentOfFull / 100 } }],
      words: [`${name} to ${percentOfFull} % (${rise > 0 ? '+' : '−'}${Math.abs(rise)} points)`],
    };
  }
  const now = mmPerSToMmPerMin(feedOf(pass, piece.machine.motion));
  const steps = Math.floor(now / FEED_STEP_MM_PER_MIN);
  const least = Math.max(1, Math.ceil(SLOWEST * steps));
  const setOf = (step: number) => ({
    lightEndPower: 1,
    feedMmPerS: mmPerMinToMmPerS(step * FEED_STEP_MM_PER_MIN),
  });
  const atFeed = (slower: number) => applyEdits(piece, [{ of: 'pass', index, set: setOf(steps - slower) }]);
  const slower = closer ? null : await leastClearingStep(judge, judgement, atFeed, WANTED_ODDS, 1, steps - least);
  const step = closer
    ? ((await highest(least, steps, (one) => clears(setOf(one)))) ?? least)
    : steps - (slower?.step ?? steps - least);
  const full = pass.lightEndPower < 0.995 ? [`${name} to ${points(1)}`] : [];
  return {
    edits: [{ of: 'pass', index, set: setOf(step) }],
    words: [...full, `the feed to ${step * FEED_STEP_MM_PER_MIN} mm/min`],
  };
}
