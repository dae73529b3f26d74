import { colorDifference, type Lab, linearRgbToLab } from '../../base/color/lab.ts';
import { inLanes } from '../../base/in-lanes.ts';
import { quantity } from '../../base/quantity.ts';
import { CLEARED_SHARE, LIGHT_AREA_LIGHTNESS, SCORCHED_SHARE } from '../../burn/clearing.ts';
import { filmPlaceOfBin, inBins, meanOver, SCENE_BINS, toneOfBin } from '../../burn/coarse.ts';
import { createPreparation, type Photo, type Preparation } from '../../burn/prepare.ts';
import { type ToneScale, toneScaleAt } from '../../burn/tone-scale.ts';
import { fitRising } from '../../image/repair/fade.ts';
import { adjustedLightness } from '../../image/tone.ts';
import { wattsAtLevel } from '../../physics/beam/gaussian.ts';
import { passTime } from '../../physics/raster/pass-time.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { BurnPlaces, Pass, Piece, Tiles, Tone } from '../../piece/schema.ts';
import { packTiles, unpackTiles } from '../../piece/tiles.ts';
import { JUST_SHOWS, PLAINLY_SHOWS } from '../sure/how-sure.ts';
import { JUDGE_DRAWS } from '../sure/judge.ts';
import { DARK_AREA_LIGHTNESS, SAMPLE_TILES } from '../sure/sample.ts';
import { drawPiece, learnFrom, thinOut, type Weighted, weightedMean } from '../sure/spread.ts';
import {
  anyAgrees,
  changeAt,
  clearOdds,
  createRescueSample,
  type Draw,
  middleRise,
  type RescueSample,
  type Seen,
  savedOdds,
  type TriedPower,
  tryPass,
  unscorchedOdds,
  weighDraws,
  withPass,
} from './rescue-sample.ts';
import {
  createRescueScene,
  patchLightness,
  type RescueScene,
  type RescueState,
  type RescueTools,
  stateOf,
} from './rescue-scene.ts';

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

export const RESCUE_ODDS = quantity(0.5, 0.99, {
  label: 'How surely it is to clear',
  unit: '%',
  step: 1,
  digits: 0,
});

export const RESCUE_DEFAULTS: RescueWishes = { words: null, odds: 0.9, darks: 'leave', onlyWhere: false, growMm: 3 };

/**
 * `needed`: a pass is proposed. `cleared`: nothing is left to clear, and the maker does not say otherwise. `out-of-reach`: no power clears
 * without scorching with the likelihood that was asked for; the pass is the best there is. `no-help`: no further pass makes a difference that
 * helps. `disagrees`: no piece that this one may truly be looks as the maker says.
 */
type RescueVerdict = 'needed' | 'cleared' | 'out-of-reach' | 'no-help' | 'disagrees';

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
  /** Draws of what was learned: those that judge what is proposed, those of them that the search goes through, and those for colours. */
  readonly judged: number;
  readonly searched: number;
  readonly last: number;
  /** Squares of the picture on which it is judged. */
  readonly tiles: number;
}

/** The proposal is judged on the draws and squares on which the proof of the rescued piece will be. */
export const RESCUE_EFFORT: RescueEffort = {
  draws: 96,
  judged: JUDGE_DRAWS,
  searched: 14,
  last: 6,
  tiles: SAMPLE_TILES,
};

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
  const alike = agreed ? drawn : drawn.map((draw) => ({ ...draw, weight: 1 }));
  const before = stateOf(alike.map(({ value: { outcome }, weight }) => ({ value: outcome, weight })));
  const known = { scorchedAlready: before.scorches > 0.5, before, plan: null };
  if (!agreed && words) return { ...known, verdict: 'disagrees' };
  const clearByProof = words === null && predicted.uncleared < CLEARED_SHARE;
  // Whoever says that it is dark has seen it: then what counts as clear by the numbers must be brighter too.
  const asked = words !== null && words !== 'scorched';
  if (!asked && (clearByProof || before.clears >= wishes.odds)) return { ...known, verdict: 'cleared' };

  // Looking like its proof tells as much as words do: without it the rescued piece would be judged as one that nobody has seen.
  const learned = agreed ? learnFromBurn(piece, drawn) : piece;
  const learnedDraws = await drawLearned(sample, learned, effort.judged);
  const draws = thinOut(learnedDraws, effort.searched);
  const tried = await tryPowers(sample, strongest, draws, start, (share) => onProgress(0.3 + 0.35 * share));
  const found = await powerFor(sample, draws, start, tried, wishes.odds, asked);
  let { power, reached, saved } = found;
  // As many draws and squares as the last word goes by: few say otherwise on the edge of clearing, and where no power is sure.
  const fine = await createRescueSample(learned, { ...start, lightEndPower: power }, photo, tools, effort.tiles);
  const all = await drawLearned(fine, learned, effort.judged);
  const powers = reached ? raised(power) : near(power);
  // What few draws took for sure is raised no further than all of them want it.
  ({ power, saved } = await bestOfAll(
    fine,
    all,
    start,
    powers,
    asked,
    reached ? wishes.odds : Number.POSITIVE_INFINITY,
  ));
  reached = saved >= wishes.odds;
  const few = thinOut(draws, effort.last);
  const lit = { ...start, lightEndPower: power };
  const asItIs = savedOdds(
    all.map(({ value: { outcome }, weight }) => ({ value: { before: outcome, after: outcome }, weight })),
    asked,
  );
  const savesMore = saved - asItIs >= WORTH_A_PASS;
  if (saved === 0 || (!savesMore && changeAt(await tryPass(sample, few, lit), 'lightRgb', 0.5) < JUST_SHOWS)) {
    return { ...known, verdict: 'no-help' };
  }
  const darkEnd = await chooseDarkEnd(sample, few, lit, wishes.darks);
  onProgress(0.75);
  const pass = {
    ...lit,
    darkEndPower: darkEnd.power,
    tone: (await fitPassTone(scene, learned, lit)) ?? start.tone,
  };
  const sparesDarks = wishes.darks === 'leave' && darkEnd.change >= DARKS_STAY;
  if (sparesDarks) pass.only = placesBeyondDarks(scene);
  // On all of them: few tell too little of what scorches, and would let a rung above the proposal look safer than it.
  const ladder = await makeLadder(sample, learnedDraws, pass, tried);
  onProgress(0.85);
  const plan = await finishPlan(scene, photo, few, pass, wishes);
  const outcomes = await judgePass(learned, plan.pass, photo, tools, effort);
  onProgress(1);
  return {
    ...known,
    verdict: reached ? 'needed' : 'out-of-reach',
    plan: {
      ...plan,
      piece: withPass(learned, plan.pass),
      after: stateOf(outcomes.map(({ value, weight }) => ({ value: value.after, weight }))),
      saves: savedOdds(outcomes, asked),
      middleRiseL: middleRise(outcomes),
      darkEnd,
      sparesDarks,
      ladder,
    },
  };
}

/** The watts of the day of the burn went into what was seen, and with that into the doses: they are not drawn a second time. */
function learnFromBurn(piece: Piece, drawn: readonly Weighted<Draw>[]): Piece {
  const learned = learnFrom(
    piece,
    drawn.map(({ value, weight }) => ({ value: value.piece, weight })),
  );
  return learned === piece ? piece : { ...learned, certainty: { ...learned.certainty, power: 0 } };
}

/** Draws of a piece that stand for those it will be judged on, from those that are easily cleared to those that are not. */
async function drawLearned(sample: RescueSample, learned: Piece, judged: number): Promise<Weighted<Draw>[]> {
  const all = await inLanes(judged, sample.lanes, async (draw): Promise<Weighted<Draw>> => {
    const piece = drawPiece(learned, draw);
    return { value: { piece, outcome: await sample.outcome(piece) }, weight: 1 };
  });
  return all.sort((a, b) => a.value.outcome.residueUm - b.value.outcome.residueUm);
}

/** Share of the cases that a pass has to save besides those that come out well without it, where it changes little on the whole. */
const WORTH_A_PASS = 0.1;

/** Steps by which the power goes on when all draws say otherwise than those it was searched on. */
const MOST_RAISES = 5;

/** Powers from one upwards, to be tried by all draws where few took it for sure. */
function raised(from: number): number[] {
  const step = from > 0.1 ? 0.02 : 0.0025;
  return Array.from({ length: MOST_RAISES + 1 }, (_, raise) => Math.round(1e4 * (from + raise * step)) / 1e4);
}

/** Powers that are tried once more where none is sure, over the one that few draws took for the best. */
const NEAR = [0.85, 1, 1.15, 1.3, 1.5];

function near(from: number): number[] {
  const steps = from > 0.1 ? 100 : 400;
  return NEAR.map((factor) => Math.round(steps * factor * from) / steps);
}

/** The power that saves most of all the draws, or the first that saves `enough` of them. */
async function bestOfAll(
  sample: RescueSample,
  all: readonly Weighted<Draw>[],
  start: Pass,
  powers: readonly number[],
  asked: boolean,
  enough: number,
): Promise<{ power: number; saved: number }> {
  let best = { power: powers[0], saved: -1 };
  for (const power of new Set(powers.map((one) => Math.min(1, one)))) {
    const saved = savedOdds(await tryPass(sample, all, { ...start, lightEndPower: power }), asked);
    if (saved > best.saved) best = { power, saved };
    if (best.saved >= enough) break;
  }
  return best;
}

/** What the pass makes of the draws, over the squares and dots on which the proof of the rescued piece is judged. */
async function judgePass(
  learned: Piece,
  pass: Pass,
  photo: Photo,
  tools: RescueTools,
  { judged, tiles }: RescueEffort,
): Promise<TriedPower['outcomes']> {
  const sample = await createRescueSample(learned, pass, photo, tools, tiles);
  return tryPass(sample, await drawLearned(sample, learned, judged), pass);
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
  few: readonly Weighted<Draw>[],
  everywhere: Pass,
  wishes: RescueWishes,
): Promise<Omit<RescuePlan, 'piece' | 'after' | 'saves' | 'middleRiseL' | 'darkEnd' | 'sparesDarks' | 'ladder'>> {
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
  return {
    pass,
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

/** Leave the dark areas as they are, or open them a little on purpose. */
type DarksWish = 'leave' | 'open';

/** The dark areas change less than one can see (CIEDE2000; 1 is about just noticeable side by side). */
const DARKS_STAY = 0.5;

/** What opening them means: a difference that one sees at once. */
const DARKS_OPEN = 3;

const TRIES = 8;

interface DarkEnd {
  readonly power: number;
  /** Highest dark-end power tried that still leaves the dark areas alone in nine of ten draws, up to the light end. */
  readonly harmless: number;
  /** ΔE00 of the dark areas that one draw in ten exceeds, at `power`. */
  readonly change: number;
}

/**
 * The dark-end power for a further pass whose light-end power is known: none at all, or the lowest that opens the dark areas visibly
 * in half of the draws (the light-end power, if none does). @throws Cancelled if told to stop.
 */
async function chooseDarkEnd(
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  pass: Pass,
  wish: DarksWish,
): Promise<DarkEnd> {
  const atNone = changeAt(await tryPass(sample, draws, { ...pass, darkEndPower: 0 }), 'darkRgb', 0.9);
  let harmless = 0;
  let opened: { power: number; change: number } | null = null;
  for (let i = 1; i <= TRIES; i++) {
    const power = Math.round((1000 * pass.lightEndPower * i) / TRIES) / 1000;
    const outcomes = await tryPass(sample, draws, { ...pass, darkEndPower: power });
    const change = changeAt(outcomes, 'darkRgb', 0.9);
    if (change < DARKS_STAY) harmless = power;
    if (changeAt(outcomes, 'darkRgb', 0.5) >= DARKS_OPEN || i === TRIES) opened ??= { power, change };
    if (change >= DARKS_STAY && (wish === 'leave' || opened)) break;
  }
  if (wish === 'leave' || !opened) return { power: 0, harmless, change: atNone };
  return { ...opened, harmless };
}

const HALVINGS = 7;

/**
 * Tones of its own for a further pass in continuous tone: what a first pass left too dark in between follows the power, so the same
 * tones again would lift the light end only. Each step gets what brings it to the lightness it would have had if the first pass had
 * just cleared. Null for dots: they must fall on those of the first pass. @throws Cancelled if told to stop.
 */
export async function fitPassTone(scene: RescueScene, piece: Piece, pass: Pass): Promise<Tone | null> {
  if (pass.screen !== 'continuous') return null;
  const wanted = middleLightness(await enoughAtOnce(scene, piece));
  const last = wanted.length - 1;
  const toned = (values: readonly number[]): Tone => ({
    ...NEUTRAL_TONE,
    curve: values.map((value, i): [number, number] => [i / last, Math.min(1, Math.max(0, value))]),
  });
  let low = wanted.map(() => 0);
  let high = wanted.map(() => 1);
  for (let halving = 0; halving < HALVINGS; halving++) {
    const middle = low.map((value, i) => (value + high[i]) / 2);
    const reached = middleLightness(await scene.burn(withPass(piece, { ...pass, tone: toned(middle) }), 'fine'));
    low = low.map((value, i) => (reached[i] < wanted[i] ? middle[i] : value));
    high = high.map((value, i) => (reached[i] < wanted[i] ? value : middle[i]));
  }
  const burned = adjustedLightness(piece.picture.tone);
  // What is meant to be clear gets all the power that was chosen for it.
  const lit = low.map((value, i) => (burned(i / last) >= LIGHT_AREA_LIGHTNESS ? 1 : value));
  return toned(fitRising(lit));
}

/** The piece burned in one pass that just clears, everything else as in its first. */
async function enoughAtOnce(scene: RescueScene, piece: Piece): Promise<ToneScale> {
  const [first] = piece.passes;
  const at = (power: number) => scene.burn({ ...piece, passes: [{ ...first, lightEndPower: power }] }, 'fine');
  let [low, high] = [first.lightEndPower, 1];
  for (let halving = 0; halving < HALVINGS; halving++) {
    const middle = (low + high) / 2;
    if (patchShares(scene, await at(middle)).uncleared < CLEARED_SHARE) high = middle;
    else low = middle;
  }
  return at(high);
}

/** L* per tone on the film that is as thick as the mean. */
function middleLightness(scale: ToneScale): number[] {
  const film = scale.films.findIndex((share) => share >= 1 - 1e-9);
  return scale.tones.map((_, tone) => patchLightness(scale, film * scale.tones.length + tone));
}

/** Side of a tile where the picture is not too large for it, mm. */
const TILE_MM = 2;

const MOST_TILES = 512;

/** A place is worth another pass if it stays uncleared with this likelihood. */
const NEEDED_ODDS = 0.05;

interface NeededPlaces {
  readonly only: BurnPlaces;
  /** Share of the places that burn at all. */
  readonly share: number;
}

/**
 * The tiles over the placed picture where residue is to be expected, and what lies within `growMm` of them. `unclearedOdds`: per bin of
 * tone and film, how likely a dot at the light end stays uncleared.
 */
export function neededPlaces(
  { scene, spread, bins, piece }: RescueScene,
  unclearedOdds: ArrayLike<number>,
  growMm: number,
): NeededPlaces {
  const { width, height, pitchMm, lightness } = scene;
  const tilesAlong = (places: number) =>
    Math.max(1, Math.min(MOST_TILES, places, Math.round((places * pitchMm) / TILE_MM)));
  const [columns, rows] = [tilesAlong(width), tilesAlong(height)];
  const burned = adjustedLightness(piece.picture.tone);
  const tileOf = (i: number) =>
    Math.floor((Math.floor(i / width) * rows) / height) * columns + Math.floor(((i % width) * columns) / width);
  const needed = new Uint8Array(columns * rows);
  for (let i = 0; i < bins.length; i++) {
    if (bins[i] < 0 || unclearedOdds[bins[i]] < NEEDED_ODDS) continue;
    if (burned(lightness[i]) > DARK_AREA_LIGHTNESS) needed[tileOf(i)] = 255;
  }
  const tiles = grow(
    needed,
    columns,
    rows,
    (growMm * columns) / (width * pitchMm),
    (growMm * rows) / (height * pitchMm),
  );
  let [inside, all] = [0, 0];
  for (let i = 0; i < bins.length; i++) {
    if (bins[i] < 0) continue;
    all++;
    if (tiles[tileOf(i)] > 0) inside++;
  }
  return { only: { ...packTiles(columns, rows, tiles), ...spread }, share: all > 0 ? inside / all : 0 };
}

/** All tiles that hold anything lighter than a dark area. */
export const placesBeyondDarks = (scene: RescueScene): BurnPlaces =>
  neededPlaces(scene, new Float64Array(SCENE_BINS).fill(1), 0).only;

/** Tiles within an ellipse of a tile that is set; half axes in tiles. */
function grow(tiles: Uint8Array, columns: number, rows: number, alongTiles: number, acrossTiles: number): Uint8Array {
  const grown = tiles.slice();
  const [reachX, reachY] = [Math.ceil(alongTiles), Math.ceil(acrossTiles)];
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (tiles[y * columns + x] === 0) continue;
      for (let dy = -reachY; dy <= reachY; dy++) {
        for (let dx = -reachX; dx <= reachX; dx++) {
          const [column, row] = [x + dx, y + dy];
          if (column < 0 || row < 0 || column >= columns || row >= rows) continue;
          if ((dx / Math.max(1, alongTiles)) ** 2 + (dy / Math.max(1, acrossTiles)) ** 2 <= 1) {
            grown[row * columns + column] = 255;
          }
        }
      }
    }
  }
  return grown;
}

/** One power to try on an edge of the picture, and what it is likely to do there. */
interface Rung {
  readonly power: number;
  /** Share of the draws that are clear without it. */
  readonly cleared: number;
  /** ΔE00 of the light areas that half of the draws exceed. */
  readonly change: number;
  readonly clears: number;
  readonly scorches: number;
  readonly words: string;
}

const STEPS = [0.0025, 0.005, 0.01, 0.02, 0.025, 0.05, 0.1, 0.2];

const RUNGS = 6;

/** A ladder starts at this share of the power that just shows. */
const START_SHARE = 0.7;

/** Steps of power from below what shows at all to a little over the proposal. @throws Cancelled if told to stop. */
async function makeLadder(
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  pass: Pass,
  tried: readonly TriedPower[],
): Promise<Rung[]> {
  const rungs: Rung[] = [];
  for (const power of ladderPowers(showingPower(tried, pass.lightEndPower), pass.lightEndPower)) {
    const outcomes = await tryPass(sample, draws, { ...pass, lightEndPower: power, only: null });
    const rung = {
      power,
      cleared: weightedMean(
        outcomes.map(({ value, weight }) => ({ value: value.before.uncleared < CLEARED_SHARE ? 1 : 0, weight })),
      ),
      change: changeAt(outcomes, 'lightRgb', 0.5),
      clears: clearOdds(outcomes),
      scorches: 1 - unscorchedOdds(outcomes),
    };
    rungs.push({ ...rung, words: rungWords(rung) });
  }
  return rungs;
}

/** Power from which the light areas change visibly in half of the draws, between the powers tried; half the proposal if none shows. */
function showingPower(tried: readonly TriedPower[], proposed: number): number {
  let before = { power: 0, change: 0 };
  for (const { power, outcomes } of tried) {
    const change = changeAt(outcomes, 'lightRgb', 0.5);
    if (change >= JUST_SHOWS) {
      return before.power + ((JUST_SHOWS - before.change) / (change - before.change)) * (power - before.power);
    }
    before = { power, change };
  }
  return proposed / 2;
}

/** Round powers, `RUNGS` of them or one more or less. */
export function ladderPowers(showing: number, proposed: number): number[] {
  const span = Math.max(0.01, proposed - START_SHARE * showing);
  const step = STEPS.find((one) => one >= span / (RUNGS - 1) - 1e-9) ?? STEPS[STEPS.length - 1];
  const first = Math.max(1, Math.floor((START_SHARE * showing) / step));
  const powers: number[] = [];
  for (let i = first; powers.length < RUNGS + 1; i++) {
    const power = Math.round(1e4 * i * step) / 1e4;
    if (power > 1) break;
    powers.push(power);
    if (power > proposed + 1e-9 && powers.length >= RUNGS - 1) break;
  }
  return powers;
}

function rungWords({ change, clears, cleared, scorches }: Omit<Rung, 'words'>): string {
  const scorching = scorches >= 0.5 ? ', and scorches' : scorches >= 0.1 ? ', and may scorch' : '';
  if (change < JUST_SHOWS / 2 && clears - cleared < 0.05) return 'Does nothing one can see.';
  if (clears >= 0.95) return `Clears${scorching}.`;
  if (change < PLAINLY_SHOWS && clears - cleared < 0.1) return 'Just shows.';
  if (clears < 0.05) return `Opens the light areas further, still blotchy${scorching}.`;
  return `Clears in ${Math.max(1, Math.round(10 * clears))} of 10 cases${scorching}.`;
}

/** How long a pass takes, s, from the rows it really travels; of a search from those of one sweep, whose dots it moves by a few at a row's ends. */
export function passSeconds(preparation: Preparation, photo: Photo, piece: Piece, asked: Pass): number {
  const pass: Pass = asked.screen === 'direct-search' ? { ...asked, screen: 'model-diffusion' } : asked;
  const fires = (level: number) => wattsAtLevel(piece.machine.source, pass, level) > 0;
  const { spans, raster } = preparation.screen(photo, piece, pass, fires);
  return passTime(spans, raster.pitchMm, pass, piece.machine.motion).timeS;
}

/** What even patches say of a picture: uncleared share of the light areas, scorched share of all of it; 0–1. */
interface PatchShares {
  readonly uncleared: number;
  readonly scorched: number;
}

export const patchShares = ({ light, all }: RescueScene, scale: ToneScale): PatchShares => ({
  uncleared: meanOver(inBins(scale, scale.uncleared), light),
  scorched: meanOver(inBins(scale, scale.scorchedShare), all),
});

/** What a maker may say of a piece that came out wrong. */
export const MAKER_WORDS = ['blotchy', 'just-marks', 'dull', 'scorched'] as const;

export type MakerWords = (typeof MAKER_WORDS)[number];

export const WORDS_TEXT: Readonly<Record<MakerWords, string>> = {
  blotchy: 'Blotchy in the light areas',
  'just-marks': 'It only just marks',
  dull: 'It looks right but dull',
  scorched: 'Scorched in places',
};

/** Variation of L* over the light areas from which one sees blotches, and one that one no longer calls even (estimates). */
const BLOTCHY_LIGHTNESS = 2;

const UNEVEN_LIGHTNESS = 5;

/** Up to this share of the way from the unburned coat to the undercoat a burn only marks; from the second on it looks right (estimates). */
const MARKED_WAY = 0.2;

const RIGHT_WAY = 0.5;

const CLEAN_WAY = 0.95;

/** 0–1: how well the words fit an outcome. Soft, because people's eyes differ. */
function agreeWithWords(words: MakerWords, { way, blotch, scorched }: Seen): number {
  switch (words) {
    case 'blotchy':
      return above(blotch, BLOTCHY_LIGHTNESS, 0.4) * above(way, MARKED_WAY, 0.05);
    case 'just-marks':
      return above(way, 0.01, 0.004) * above(-way, -MARKED_WAY, 0.04);
    case 'dull':
      return above(way, RIGHT_WAY, 0.05) * above(-way, -CLEAN_WAY, 0.015) * above(-blotch, -UNEVEN_LIGHTNESS, 0.6);
    case 'scorched':
      return above(Math.log(Math.max(1e-9, scorched) / SCORCHED_SHARE), 0, 0.3);
  }
}

/** A step from 0 to 1 at a value, about four widths wide. */
const above = (value: number, at: number, width: number): number => 1 / (1 + Math.exp((at - value) / width));

/** How far a piece that came out as its proof shows may be from it: share of the way to the undercoat, and share uncleared. */
const LIKE_PROOF_WAY = 0.06;

const LIKE_PROOF_UNCLEARED = 0.15;

/** 0–1: how well an outcome agrees with the one predicted. */
const agreeWithProof = (predicted: Seen, { way, uncleared }: Seen): number =>
  Math.exp(
    -0.5 *
      (((way - predicted.way) / LIKE_PROOF_WAY) ** 2 + ((uncleared - predicted.uncleared) / LIKE_PROOF_UNCLEARED) ** 2),
  );

/** How much a pass changes each place of the quick look. */
export interface ChangeMap {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** `CHANGE_STEPS` per unit of ΔE00, clipped at 255. */
  readonly change: Uint8Array;
}

const CHANGE_STEPS = 5;

/** Colour before and after as mean of several tone scales, each with its share. */
interface MeanScale {
  readonly scale: ToneScale;
  readonly rgb: Float32Array;
}

/** Mean colours of tone scales with the same tones and films. Shares sum to 1. */
function meanScale(scales: readonly { readonly scale: ToneScale; readonly share: number }[]): MeanScale {
  const [{ scale }] = scales;
  const rgb = new Float32Array(scale.rgb.length);
  for (const one of scales) for (let i = 0; i < rgb.length; i++) rgb[i] += one.share * one.scale.rgb[i];
  return { scale, rgb };
}

/** ΔE00 of each patch from before to after. */
function patchChanges(before: MeanScale, after: MeanScale): Float32Array {
  const labAt = (rgb: Float32Array, at: number): Lab => linearRgbToLab([rgb[3 * at], rgb[3 * at + 1], rgb[3 * at + 2]]);
  return Float32Array.from({ length: before.rgb.length / 3 }, (_, at) =>
    colorDifference(labAt(before.rgb, at), labAt(after.rgb, at)),
  );
}

/** Changes of the patches laid on the picture, nothing where the pass does not burn. */
function changeMap(
  { scene: { width, height, pitchMm }, bins }: RescueScene,
  { scale }: MeanScale,
  changes: Float32Array,
  only: Tiles | null,
): ChangeMap {
  const perBin = Uint8Array.from({ length: SCENE_BINS }, (_, bin) =>
    Math.min(255, Math.round(CHANGE_STEPS * toneScaleAt(scale, toneOfBin(bin), filmPlaceOfBin(bin))(changes))),
  );
  const tiles = only && unpackTiles(only);
  const change = Uint8Array.from(bins, (bin, i) => {
    if (bin < 0) return 0;
    if (only && tiles) {
      const column = Math.floor((((i % width) + 0.5) * only.columns) / width);
      const row = Math.floor(((Math.floor(i / width) + 0.5) * only.rows) / height);
      if (tiles[row * only.columns + column] === 0) return 0;
    }
    return perBin[bin];
  });
  return { width, height, pitchMm, change };
}
