import { CLEARED_SHARE } from '../../burn/clearing.ts';
import { createPreparation, type Photo } from '../../burn/prepare.ts';
import { inBins, SCENE_BINS } from '../../burn/scene-bins.ts';
import type { ToneScale } from '../../burn/tone-scale.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { learnFrom } from '../sure/learn.ts';
import { JUST_SHOWS } from '../sure/seen-difference.ts';
import { thinOut, type Weighted } from '../sure/weighted.ts';
import { type ChangeMap, changeMap, meanScale, patchChanges } from './change-map.ts';
import { chooseDarkEnd, DARKS_STAY, type DarkEnd, type DarksWish } from './darks.ts';
import { anyAgrees, type Draw, weighDraws } from './draws.ts';
import { fitPassTone } from './fit-pass-tone.ts';
import { makeLadder, type Rung } from './ladder.ts';
import { passSeconds } from './pass-minutes.ts';
import { createRescueSample, type RescueSample } from './rescue-sample.ts';
import { createRescueScene, type RescueScene, type RescueTools } from './rescue-scene.ts';
import { type RescueState, stateOf } from './state.ts';
import {
  changeAt,
  clearOdds,
  middleRise,
  savedOdds,
  type TriedPower,
  tryPass,
  unscorchedOdds,
  withPass,
} from './try-powers.ts';
import { neededPlaces, placesBeyondDarks } from './where.ts';
import { agreeWithProof, agreeWithWords, type MakerWords } from './words.ts';

export interface RescueWishes {
  /** What the maker says of the piece; null if it came out as its proof shows. */
  readonly words: MakerWords | null;
  /** With what likelihood the light areas are to clear, nothing scorched, 0–1. */
  readonly odds: number;
  readonly darks: DarksWish;
  /** Burn only where residue is to be expected, and what lies within `growMm` of it. */
  readonly onlyWhere: boolean;
  readonly growMm: number;
}

export const RESCUE_DEFAULTS: RescueWishes = { words: null, odds: 0.9, darks: 'leave', onlyWhere: false, growMm: 3 };

/**
 * `needed`: a pass is proposed. `cleared`: nothing is left to clear, and the maker does not say otherwise. `out-of-reach`: no power clears
 * without scorching with the likelihood that was asked for; the pass is the best there is. `no-help`: no further pass makes a difference that
 * helps. `disagrees`: no piece that this one may truly be looks as the maker says.
 */
export type RescueVerdict = 'needed' | 'cleared' | 'out-of-reach' | 'no-help' | 'disagrees';

export interface RescueProposal {
  readonly verdict: RescueVerdict;
  /** Scorched by now more likely than not: more passes do not mend that. */
  readonly scorchedAlready: boolean;
  readonly before: RescueState;
  /** Null unless a pass is proposed. */
  readonly plan: RescuePlan | null;
}

export interface RescuePlan {
  readonly pass: Pass;
  /** The piece with the pass added and with the numbers that the maker's words speak for. */
  readonly piece: Piece;
  readonly after: RescueState;
  /** Share of the draws that come out clear and not scorched by it. */
  readonly saves: number;
  /** By how much L* the middle tones rise besides; null without such tones. */
  readonly middleRiseL: number | null;
  readonly darkEnd: DarkEnd;
  /** The pass leaves dark areas out, because the light dots in them would change them otherwise. */
  readonly sparesDarks: boolean;
  /** Lightness of the photo, 0–1, from which on the pass shows at all; 1 if nowhere. */
  readonly bitesFrom: number;
  readonly ladder: readonly Rung[];
  readonly seconds: number;
  /** What leaving out the places that do not need it saves, s, and the share of the picture that does need it. */
  readonly savedSeconds: number;
  readonly neededShare: number;
  readonly map: ChangeMap;
}

/** How thoroughly to search. */
export interface RescueEffort {
  /** Draws burned as they are, for what was seen to pick from. */
  readonly draws: number;
  /** Draws that the search goes through, and draws for the last word. */
  readonly searched: number;
  readonly last: number;
}

export const RESCUE_EFFORT: RescueEffort = { draws: 96, searched: 14, last: 6 };

/** Light-end powers tried, over the strongest so far. */
const TRIED = [0.2, 0.3, 0.4, 0.5, 0.7, 1, 1.5, 2.4, 4];

/**
 * Proposes the next pass for a piece whose passes so far are burned. The piece is drawn many times as it may truly be, draws that do not
 * look as the maker says, or as the proof, lose weight, and a power is searched that clears as many of the rest as the maker wishes without scorching them.
 * @throws RangeError if there is nothing to rescue on such a piece, or no room for another pass; Cancelled if told to stop.
 */
export async function proposeRescue(
  piece: Piece,
  photo: Photo,
  tools: RescueTools,
  wishes: RescueWishes = RESCUE_DEFAULTS,
  onProgress: (share: number) => void = () => {},
  effort: RescueEffort = RESCUE_EFFORT,
): Promise<RescueProposal> {
  if (piece.passes.length >= 12) throw new RangeError('a piece has twelve passes at most');
  const scene = createRescueScene(piece, photo, tools);
  const { words } = wishes;
  const start = nextPass(piece);
  const strongest = Math.max(...piece.passes.map(({ lightEndPower }) => lightEndPower));
  const sample = await createRescueSample(piece, { ...start, lightEndPower: strongest }, photo, tools);
  const predicted = await sample.outcome(piece);
  const drawn = await weighDraws(
    sample,
    effort.draws,
    (outcome) => (words ? agreeWithWords(words, outcome) : agreeWithProof(predicted, outcome)),
    (share) => onProgress(0.3 * share),
  );
  const agreed = anyAgrees(drawn);
  const draws = thinOut(agreed ? drawn : drawn.map((draw) => ({ ...draw, weight: 1 })), effort.searched);
  const before = stateOf(draws.map(({ value: { outcome }, weight }) => ({ value: outcome, weight })));
  const known = { scorchedAlready: before.scorches > 0.5, before, plan: null };
  if (!agreed && words) return { ...known, verdict: 'disagrees' };
  const clearByProof = words === null && predicted.uncleared < CLEARED_SHARE;
  // Whoever says that it is dark has seen it: then what counts as clear by the numbers must be brighter too.
  const asked = words !== null && words !== 'scorched';
  if (!asked && (clearByProof || before.clears >= wishes.odds)) return { ...known, verdict: 'cleared' };

  const tried = await tryPowers(sample, strongest, draws, start, (share) => onProgress(0.3 + 0.35 * share));
  const { power, reached, saved } = await powerFor(sample, draws, start, tried, wishes.odds, asked);
  const few = thinOut(draws, effort.last);
  const lit = { ...start, lightEndPower: power };
  if (saved === 0 || changeAt(await tryPass(sample, few, lit), 'lightRgb', 0.5) < JUST_SHOWS) {
    return { ...known, verdict: 'no-help' };
  }
  const darkEnd = await chooseDarkEnd(sample, few, lit, wishes.darks);
  onProgress(0.75);
  // Looking like its proof tells as much as words do: without it the rescued piece would be judged as one that nobody has seen.
  const learned = agreed
    ? learnFrom(
        piece,
        drawn.map(({ value, weight }) => ({ value: value.piece, weight })),
      )
    : piece;
  const pass = {
    ...lit,
    darkEndPower: darkEnd.power,
    tone: (await fitPassTone(scene, learned, lit)) ?? start.tone,
  };
  const sparesDarks = wishes.darks === 'leave' && darkEnd.change >= DARKS_STAY;
  if (sparesDarks) pass.only = placesBeyondDarks(scene);
  const ladder = await makeLadder(sample, few, pass, tried);
  onProgress(0.85);
  // Tones and places of its own give the pass dots of its own.
  const own =
    pass.tone === start.tone && pass.only === null ? sample : await createRescueSample(piece, pass, photo, tools);
  const plan = await finishPlan(scene, photo, own, draws, few, pass, wishes);
  onProgress(1);
  return {
    ...known,
    verdict: reached ? 'needed' : 'out-of-reach',
    plan: { ...plan, piece: withPass(learned, plan.pass), darkEnd, sparesDarks, ladder },
  };
}

/** A further pass like the last one over the same dots, everywhere, starting from nothing. */
function nextPass({ passes }: Piece): Pass {
  const last = passes[passes.length - 1];
  return { ...last, lightEndPower: 0, darkEndPower: 0, only: null };
}

async function tryPowers(
  sample: RescueSample,
  strongest: number,
  draws: readonly Weighted<Draw>[],
  start: Pass,
  onProgress: (share: number) => void,
): Promise<TriedPower[]> {
  const powers = [...new Set(TRIED.map((share) => Math.min(1, Math.round(1000 * share * strongest) / 1000)))];
  const tried: TriedPower[] = [];
  for (const [i, power] of powers.entries()) {
    const outcomes = await tryPass(sample, draws, { ...start, lightEndPower: power });
    tried.push({ power, outcomes });
    onProgress((i + 1) / powers.length);
    if (clearOdds(outcomes) > 0.99 && unscorchedOdds(outcomes) < 0.5) break;
  }
  return tried;
}

/** The lowest round power that saves the piece with the odds, or the one that saves it most likely if none does. */
async function powerFor(
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  start: Pass,
  tried: readonly TriedPower[],
  odds: number,
  asked: boolean,
): Promise<{ power: number; reached: boolean; saved: number }> {
  const saves = async (power: number) =>
    savedOdds(await tryPass(sample, draws, { ...start, lightEndPower: power }), asked);
  const known = tried.map(({ power, outcomes }) => ({ power, saved: savedOdds(outcomes, asked) }));
  // Between clearing too little and scorching, the best may lie between two powers tried.
  for (let round = 0; round < 2 && Math.max(...known.map(({ saved }) => saved)) < odds; round++) {
    const at = bestOf(known);
    const around = [at - 1, at].filter((i) => i >= 0 && i + 1 < known.length);
    const between = around.map((i) => (known[i].power + known[i + 1].power) / 2);
    for (const power of between) known.push({ power, saved: await saves(power) });
    known.sort((a, b) => a.power - b.power);
  }
  const best = known[bestOf(known)].saved;
  const wanted = Math.min(best, odds);
  const first = known.findIndex(({ saved }) => saved >= wanted);
  let high = known[first].power;
  let low = first > 0 ? known[first - 1].power : 0;
  const step = high > 0.1 ? 0.01 : 0.0025;
  while (high - low > step) {
    const middle = (low + high) / 2;
    if ((await saves(middle)) >= wanted) high = middle;
    else low = middle;
  }
  const round = Math.round(1e4 * step * Math.ceil(high / step - 1e-9)) / 1e4;
  return { power: Math.min(1, round), reached: best >= odds, saved: best };
}

const bestOf = (known: readonly { saved: number }[]): number =>
  known.reduce((best, { saved }, i) => (saved > known[best].saved ? i : best), 0);

async function finishPlan(
  scene: RescueScene,
  photo: Photo,
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  few: readonly Weighted<Draw>[],
  everywhere: Pass,
  wishes: RescueWishes,
): Promise<Omit<RescuePlan, 'piece' | 'darkEnd' | 'sparesDarks' | 'ladder'>> {
  const { piece } = scene;
  const before: { scale: ToneScale; share: number }[] = [];
  const after: { scale: ToneScale; share: number }[] = [];
  for (const { value, weight } of few) {
    before.push({ scale: await scene.burn(value.piece, 'fine'), share: weight });
    after.push({ scale: await scene.burn(withPass(value.piece, everywhere), 'fine'), share: weight });
  }
  const unclearedOdds = new Float64Array(SCENE_BINS);
  for (const { scale, share } of before) {
    inBins(scale, scale.uncleared).forEach((value, bin) => {
      unclearedOdds[bin] += share * value;
    });
  }
  const needed = neededPlaces(scene, unclearedOdds, wishes.growMm);
  const pass = wishes.onlyWhere ? { ...everywhere, only: needed.only } : everywhere;
  const [means, meansAfter] = [meanScale(before), meanScale(after)];
  const changes = patchChanges(means, meansAfter);
  const preparation = createPreparation();
  const seconds = passSeconds(preparation, photo, piece, everywhere);
  const secondsWhereNeeded = passSeconds(preparation, photo, piece, { ...everywhere, only: needed.only });
  const outcomes = await tryPass(sample, draws, everywhere);
  return {
    pass,
    after: stateOf(outcomes.map(({ value, weight }) => ({ value: value.after, weight }))),
    saves: savedOdds(outcomes, wishes.words !== null && wishes.words !== 'scorched'),
    middleRiseL: middleRise(outcomes),
    bitesFrom: biteTone(means.scale, changes),
    seconds: wishes.onlyWhere ? secondsWhereNeeded : seconds,
    savedSeconds: seconds - secondsWhereNeeded,
    neededShare: needed.share,
    map: changeMap(scene, means, changes, pass.only),
  };
}

/** The darkest tone that changes visibly on a film of mean thickness. */
function biteTone({ tones, films }: ToneScale, changes: Float32Array): number {
  const film = films.findIndex((share) => share >= 1 - 1e-9);
  const first = tones.findIndex((_, tone) => changes[film * tones.length + tone] >= 1);
  return first < 0 ? 1 : tones[first];
}
