import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../base/units.ts';
import { SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { burnToneScale } from '../../burn/tone-scale.ts';
import { spotRadii } from '../../physics/beam/gaussian.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece, Tone } from '../../piece/schema.ts';
import { WANTED_ODDS } from '../choose/odds.ts';
import { bandsOf } from '../sure/how-sure.ts';
import { type Judgement, leastClearingPower, leastClearingStep } from '../sure/judge.ts';
import {
  about,
  acrossRadiusMm,
  applyEdits,
  type Case,
  type Cause,
  type Change,
  type Edit,
  type Finding,
  heightsOf,
  inLikelyCases,
  lightEndOf,
  mm,
  percent,
  points,
  strongestPass,
  towards,
  worstPlace,
} from './finding.ts';
import type { LightOutlook } from './outlook.ts';

/** Uncleared shares that are not worth a word, and below which a trial counts as clearing. */
const UNSEEN_SHARE = 0.01;

const CLEARS_SHARE = 0.02;

/** Most of the residue is gone where this share of it stays. */
const MOSTLY = 0.4;

/** Shares of the width between rows: dark strips stay, and the middle of the rows is open. */
const STRIPS_FROM = 0.05;

const STRIPS_TO = 0.95;

/** A spot out of focus is worth a word when it is so much wider than in focus. */
const BLURRED = 1.1;

/** Light areas that keep residue, with the reason. */
export async function findUncleared(of: Case): Promise<Finding[]> {
  const { piece, proof, sums, outlooks, runner } = of;
  const { lightShare } = proof.summary;
  // What the figures say too: the middle of all cases, which a single film need not show.
  const unclearedShare = bandsOf(of.judgement, of.judge.lit).uncleared?.middle ?? 0;
  if (proof.direction !== 'lightens' || lightShare === 0) return [];
  const warmthsK = of.warmthsK;
  const strips = await swathShare(piece, proof.appearance, runner, warmthsK);
  const striped = strips > STRIPS_FROM && strips < STRIPS_TO;
  const { blocks } = sums;
  const place = worstPlace(blocks, (block) => blocks.uncleared[block]);
  if (unclearedShare < UNSEEN_SHARE) return [];

  const now = await outlooks.light(piece);
  const cause = await causeOf(of, now, striped);
  const change = await clearingChange(of, now, cause);
  return [
    {
      kind: 'uncleared',
      severity: 100 * towards(unclearedShare * Math.min(1, lightShare / 0.08), 0.04),
      sentence: `${percent(unclearedShare)} of the light areas’ dots will keep dark residue: ${reason(of, cause, strips)}.`,
      value: unclearedShare,
      unit: 'share',
      place,
      causes: [cause],
      change,
    },
  ];
}

/** Asks what would clear the light areas: what is out of the ordinary first, then the film, then what only takes more energy. */
async function causeOf(of: Case, now: LightOutlook, striped: boolean): Promise<Cause> {
  const { piece, outlooks } = of;
  const light = async (other: Piece, options = {}) => (await outlooks.light(other, options)).uncleared;
  const clears = (share: number) => share < Math.max(CLEARS_SHARE, 0.15 * now.uncleared);
  const passes = (edit: (pass: Piece['passes'][number]) => object): Piece => ({
    ...piece,
    passes: piece.passes.map((pass) => ({ ...pass, ...edit(pass) })),
  });
  const inFocus = passes(() => ({ focusOffsetMm: 0 }));
  const blurred = piece.passes.some(
    (pass, i) => acrossRadiusMm(piece, pass) > BLURRED * acrossRadiusMm(piece, inFocus.passes[i]),
  );
  if (blurred && clears(await light(inFocus))) return 'focus';
  if (striped) {
    const close = passes((pass) => ({ rowPitchMm: Math.min(pass.rowPitchMm, acrossRadiusMm(piece, pass)) }));
    if (clears(await light(close))) return 'row-pitch';
  }
  // Patches lie flat: what they do not know of comes from the slab's warp.
  if (now.uncleared < CLEARS_SHARE && isWarped(of)) return 'slab-not-flat';
  // An even film need not clear all: it is to blame for most of what stays, where it is known to be thick.
  const even = isThickThere(of) && (await light(piece, { evenFilm: true }));
  if (even !== false && even < Math.max(CLEARS_SHARE, MOSTLY * now.uncleared)) return 'film';
  const stronger = passes((pass) => ({ lightEndPower: Math.min(1, pass.lightEndPower + 0.1) }));
  if (piece.passes.some((pass) => pass.lightEndPower < 0.995) && clears(await light(stronger))) return 'power';
  const slower = passes((pass) => ({ feedMmPerS: pass.feedMmPerS / 2 }));
  if (piece.passes.every((pass) => pass.lightEndPower > 0.9) && clears(await light(slower))) return 'feed';
  return blurred ? 'focus' : 'power';
}

function isWarped({ piece, proof }: Case): boolean {
  const [low, high] = heightsOf(piece, proof.grid);
  const pass = piece.passes[strongestPass(piece)];
  const radius = (heightMm: number) => spotRadii(piece.machine.source, pass, heightMm).acrossMm;
  return Math.max(radius(low), radius(high)) > BLURRED * radius(0);
}

function reason(of: Case, cause: Cause, strips: number): string {
  const { piece } = of;
  const pass = piece.passes[strongestPass(piece)];
  const power = points(pass.lightEndPower);
  switch (cause) {
    case 'focus':
      return `the focus is ${mm(Math.abs(pass.focusOffsetMm))} off, which spreads the beam to a radius of ${mm(acrossRadiusMm(piece, pass))}`;
    case 'row-pitch':
      return `rows ${mm(pass.rowPitchMm)} apart are too far for a spot of ${mm(acrossRadiusMm(piece, pass))} radius, and strips of ${percent(strips)} of the width between them stay dark`;
    case 'slab-not-flat':
      return 'the slab is not flat, and its high or low parts are out of focus; planing it flat helps most';
    case 'film': {
      const [top] = piece.stack.coats;
      const thick = filmWhereUncleared(of);
      return `the top coat is ${thick.toFixed(0)} µm thick there, against a mean of ${top.dryThicknessUm.toFixed(0)} µm, and ${power} power does not get through`;
    }
    case 'feed':
      return 'the beam passes too fast even at its full power';
    default:
      return `${power} power is too weak for the top coat at this feed`;
  }
}

/** Films that differ less from their mean are not told of. */
const THICK = 1.02;

const isThickThere = (of: Case): boolean =>
  filmWhereUncleared(of) > THICK * (of.piece.stack.coats[0]?.dryThicknessUm ?? 0);

/** Mean film of the topmost coat over the uncleared cells, µm. */
function filmWhereUncleared({ piece, sums, scene }: Case): number {
  const { blocks } = sums;
  let sum = 0;
  let count = 0;
  for (let y = 0; y < blocks.height; y++) {
    for (let x = 0; x < blocks.width; x++) {
      const uncleared = blocks.uncleared[y * blocks.width + x];
      if (uncleared === 0) continue;
      const at = (i: number, pixels: number) =>
        Math.min(pixels - 1, Math.floor(((i + 0.5) * blocks.pitchMm) / scene.pitchMm));
      sum += uncleared * scene.ground.film[at(y, scene.height) * scene.width + at(x, scene.width)];
      count += uncleared;
    }
  }
  return (count > 0 ? sum / count : 1) * (piece.stack.coats[0]?.dryThicknessUm ?? 0);
}

/** Parts of a row pitch that are told apart. */
const PARTS = 5;

const ALL_LIGHT: Tone = {
  ...NEUTRAL_TONE,
  curve: [
    [0, 1],
    [1, 1],
  ],
};

/**
 * Share of the width between two rows on which residue stays where everything burns at the light end and the film has its mean thickness. Burns a
 * patch on a grid finer than the rows: a first pass without power sets the grid.
 */
async function swathShare(
  piece: Piece,
  appearance: AppearanceTable,
  runner: SwathRunner,
  warmthsK: readonly number[],
): Promise<number> {
  const [first] = piece.passes;
  const grid = { ...first, rowPitchMm: first.rowPitchMm / PARTS, lightEndPower: 0, darkEndPower: 0, tone: null };
  const lit: Piece = {
    ...piece,
    picture: { ...piece.picture, tone: ALL_LIGHT },
    passes: [grid, ...piece.passes.map((pass) => ({ ...pass, tone: null }))],
  };
  // Three patches below one another: only the middle one has rows on both sides.
  const scale = await burnToneScale(lit, appearance, runner, [0, ...warmthsK], {
    tones: 2,
    films: [1, 1, 1],
    patchDots: 6 * PARTS,
  });
  return scale.uncleared[2];
}

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
      : `${about(then.uncleared)} of the light areas then stay dark${scorches ? `, but ${percent(whole.scorched)} of the picture scorches` : ''}.`,
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
      outcome: `At most about ${percent(uncleared)} of the light areas then stay dark.`,
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

/** The lowest whole number from `low` to `high` that passes a test which all above it pass too; null if even `high` does not. */
async function lowest(low: number, high: number, passes: (value: number) => Promise<boolean>): Promise<number | null> {
  if (low > high || !(await passes(high))) return null;
  let [from, to] = [low, high];
  while (from < to) {
    const middle = Math.floor((from + to) / 2);
    if (await passes(middle)) to = middle;
    else from = middle + 1;
  }
  return to;
}

/** The highest one that passes a test which all below it pass too; null if even `low` does not. */
export async function highest(
  low: number,
  high: number,
  passes: (value: number) => Promise<boolean>,
): Promise<number | null> {
  const found = await lowest(-high, -low, (value) => passes(-value));
  return found === null ? null : -found;
}
