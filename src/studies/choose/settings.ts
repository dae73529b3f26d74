import { mmPerMinToMmPerS } from '../../base/units.ts';
import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import { halfAngleRad, outputPowerW, spotRadii } from '../../physics/beam/gaussian.ts';
import { burnDirection } from '../../physics/material/appearance.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Pass, Piece, ScreenMethod, Tone } from '../../piece/schema.ts';
import type { Facts } from './facts.ts';
import {
  clearingWatts,
  columnOf,
  hardnessesOf,
  hardPiece,
  type Outcome,
  scorchingWatts,
  violationOf,
  WANTED_ODDS,
  WANTED_Z,
} from './odds.ts';
import type { SearchPoint } from './search.ts';
import { WARMTH_OVER_MEAN } from './trials.ts';

/**
 * The variables of a search, each 0–1: power at the end that burns, feed, row pitch, spread of the spot, power at the other end, and how far
 * light areas are burned solid.
 * Power is told between what should just clear and what should just not scorch, so that it fits whatever the others are.
 */
export const VARIABLES = 6;

export const solidAt = ({ at }: SearchPoint): number => at[5];

/** Powers from a window's length below the clearing one to as much above the scorching one. */
const WINDOW_LOW = -1;

const WINDOW_HIGH = 2;

/** The window is taken for at least so wide and at most so wide, in natural logarithms: where nothing scorches it has no end. */
const NARROWEST = 0.1;

const WIDEST = 0.5;

/** Rows over the spot's radius: nearer brings nothing but time, further leaves strips. */
const PITCH_LOW = 0.5;

const PITCH_HIGH = 1.7;

/** Widest spot over the focused one. */
const SPREAD_HIGH = 1.8;

/** Power at the other end over the one that reaches the coat's threshold: well short of it, so that the darks are left alone. */
const IDLE_HIGH = 0.7;

/** Slower feeds heat rather than burn and take days (an estimate). */
const SLOWEST_MM_PER_S = 10;

/** More dots than this make a proof heavy and show nothing. */
const MOST_DOTS = 20e6;

/** Dots beside a gap get less than even rows do (an estimate). */
const DOT_SHARE = 0.86;

export interface SettingsSpace {
  readonly piece: Piece;
  readonly screens: readonly ScreenMethod[];
  readonly feed: readonly [number, number];
  readonly pitch: readonly [number, number];
  /** How far out of focus the spot is at its widest. */
  readonly focusMm: number;
  /** True where the light end burns. */
  readonly lightens: boolean;
  /** Film over its mean where it is as thick and as thin as counts. */
  readonly films: readonly [number, number];
  /** How warm a pass finds the work, K. */
  warmthK(pass: Pass): number;
}

/** Screens that are tried beside the piece's own: one of each kind, and the two smoothest of error diffusion. */
const TRIED: readonly ScreenMethod[] = ['stucki', 'floyd-steinberg', 'blue-noise', 'clustered-dot', 'continuous'];

/** What may be set. Heading, two-way rows and their offset stay as they are; further passes are left out. */
export function settingsSpace(
  piece: Piece,
  { areaMm2, films }: Pick<Facts, 'areaMm2' | 'films'>,
  warmthK: (pass: Pass) => number,
): SettingsSpace {
  const { source, motion } = piece.machine;
  const [first] = piece.passes;
  const { acrossMm } = spotRadii(source, { ...first, focusOffsetMm: 0 });
  const waist = Math.max(source.spotAcrossMm, source.spotAlongMm);
  const angle = halfAngleRad(waist, source.wavelengthNm, source.beamQuality);
  const finest = Math.max(0.02, Math.sqrt(areaMm2 / MOST_DOTS));
  const low = Math.min(5, Math.max(finest, PITCH_LOW * acrossMm));
  return {
    piece,
    screens: [...new Set([first.screen, ...TRIED])],
    feed: [Math.min(SLOWEST_MM_PER_S, motion.maxFeedMmPerS / 2), motion.maxFeedMmPerS],
    pitch: [low, Math.min(5, Math.max(1.2 * low, PITCH_HIGH * acrossMm))],
    focusMm: Math.min(100, (waist * Math.sqrt(SPREAD_HIGH ** 2 - 1)) / angle),
    lightens: burnDirection(piece.stack, piece.slab.wood) === 'lightens',
    films: [films[Math.max(0, films.length - 2)], films[0]],
    warmthK,
  };
}

const between = ([low, high]: readonly [number, number], share: number): number => low * (high / low) ** share;

const placeIn = ([low, high]: readonly [number, number], value: number): number =>
  Math.min(1, Math.max(0, Math.log(Math.max(1e-9, value) / low) / Math.log(high / low)));

const stepped = (value: number, step: number): number => Math.round(value / step) * step;

const clean = (value: number): number => Math.round(1e9 * value) / 1e9;

/** The pass of a place, in steps that can be set on a machine. */
export function passAt(space: SettingsSpace, place: SearchPoint): Pass {
  const [first] = space.piece.passes;
  const [power, feed, pitch, spread, idle] = place.at;
  const offset = spread < 0.02 ? 0 : clean(stepped(Math.sign(first.focusOffsetMm || 1) * spread * space.focusMm, 0.05));
  const feedStep = mmPerMinToMmPerS(space.feed[1] > 40 ? 50 : 5);
  const pass: Pass = {
    ...first,
    feedMmPerS: Math.min(space.feed[1], Math.max(space.feed[0], stepped(between(space.feed, feed), feedStep))),
    rowPitchMm: clean(Math.max(0.01, stepped(between(space.pitch, pitch), space.pitch[0] < 0.03 ? 0.001 : 0.0025))),
    focusOffsetMm: offset,
    screen: space.screens[place.kind],
    tone: null,
    only: null,
  };
  const needed = neededWatts(space, pass);
  const hot = setShare(space.piece, needed.hot(power));
  const idling = setShare(space.piece, idle * IDLE_HIGH * needed.idle);
  const cold = idle < 0.05 ? 0 : Math.min(idling, hot);
  return { ...pass, ...ends(space, hot, cold) };
}

const ends = ({ lightens }: SettingsSpace, hot: number, cold: number) =>
  lightens ? { lightEndPower: hot, darkEndPower: cold } : { lightEndPower: cold, darkEndPower: hot };

/** Where the piece's own first pass lies, as near as the space comes to it. */
export function placeOf(space: SettingsSpace, pass: Pass): SearchPoint {
  const { machine } = space.piece;
  const feed = feedOf(pass, machine.motion);
  const needed = neededWatts(space, { ...pass, feedMmPerS: feed });
  const [hot, cold] = space.lightens
    ? [pass.lightEndPower, pass.darkEndPower]
    : [pass.darkEndPower, pass.lightEndPower];
  const idle = outputPowerW(machine.source, cold) / (IDLE_HIGH * needed.idle);
  return {
    at: [
      needed.placeOf(outputPowerW(machine.source, hot)),
      placeIn(space.feed, feed),
      placeIn(space.pitch, pass.rowPitchMm),
      Math.min(1, Math.abs(pass.focusOffsetMm) / space.focusMm),
      Math.min(1, idle),
      0,
    ],
    kind: Math.max(0, space.screens.indexOf(pass.screen)),
  };
}

/** Doses that begin to char bare wood to be seen, and that char it nearly as far as it goes, over the onset. */
const SEEN_ONSETS = 3;

const CHAR_ONSETS = 8;

interface NeededWatts {
  /** Watts of the burning end at a place 0–1, and the place of watts. */
  hot(place: number): number;
  placeOf(watts: number): number;
  /** Watts that just touch the topmost layer. */
  readonly idle: number;
}

function neededWatts(space: SettingsSpace, pass: Pass): NeededWatts {
  const [clears, scorches, idle] = space.piece.stack.coats.length > 0 ? coatWatts(space, pass) : woodWatts(space, pass);
  const width = Math.min(WIDEST, Math.max(NARROWEST, Math.abs(Math.log(scorches / clears))));
  // Where clearing takes more than scorching there is no window; the middle is the least evil.
  const low = scorches > clears ? clears : Math.sqrt(clears * scorches) * Math.exp(-width / 2);
  return {
    hot: (place) => low * Math.exp(width * (WINDOW_LOW + (WINDOW_HIGH - WINDOW_LOW) * place)),
    placeOf: (watts) =>
      Math.min(
        1,
        Math.max(0, (Math.log(Math.max(1e-9, watts) / low) / width - WINDOW_LOW) / (WINDOW_HIGH - WINDOW_LOW)),
      ),
    idle,
  };
}

/** Warmth over the mean where scorching is decided: few places are as hot as the ends of rows. */
const WARM = 1.4;

/** Watts that clear the hard piece where its film is thick, that scorch the easy one where it is thin, and that touch the coat. */
function coatWatts(space: SettingsSpace, pass: Pass): [number, number, number] {
  const { piece, films } = space;
  // Warmth grows with power: reckoned for full power first, then for what clears.
  const warmAt = (watts: number) => {
    const power = setShare(piece, watts);
    return space.warmthK({ ...pass, ...ends(space, power, 0) });
  };
  const first = columnOf(piece, pass, films[0], warmAt(piece.machine.source.fullPowerW / 2));
  const warmthK = warmAt(1.3 * clearingWatts(first));
  const { clearing, scorching } = hardnessesOf(piece, pass, warmthK);
  const hard = columnOf(hardPiece(piece, clearing, WANTED_Z), pass, films[0], WARMTH_OVER_MEAN.cool * warmthK);
  const easyPiece = hardPiece(piece, scorching, -WANTED_Z);
  const easy = columnOf(easyPiece, pass, films[1], WARM * warmthK);
  const dots = pass.screen === 'continuous' ? 1 : DOT_SHARE;
  return [
    clearingWatts(hard) / Math.exp(WANTED_Z * clearing.powerShift) / dots,
    scorchingWatts(easy, easyPiece) * Math.exp(WANTED_Z * scorching.powerShift),
    first.thresholdWatts,
  ];
}

/** Char follows the sum over all rows, P / (v · p). */
function woodWatts({ piece }: SettingsSpace, pass: Pass): [number, number, number] {
  const { absorptance, scorchOnsetJPerMm2 } = piece.slab.wood;
  const onsetW = (scorchOnsetJPerMm2 * pass.feedMmPerS * pass.rowPitchMm) / Math.max(0.01, absorptance);
  return [SEEN_ONSETS * onsetW, CHAR_ONSETS * onsetW, onsetW];
}

/** The share of full power to set for so many watts, up to full power, in half per cents. */
function setShare(piece: Piece, watts: number): number {
  const { source } = piece.machine;
  let low = 0;
  let high = 1;
  for (let i = 0; i < 20; i++) {
    const middle = (low + high) / 2;
    if (outputPowerW(source, middle) < watts) low = middle;
    else high = middle;
  }
  return Math.min(1, clean(Math.ceil(high * 200 - 1e-6) / 200));
}

/** So near to a limit, in standard deviations, that it holds the settings. */
const NEAR_Z = 0.3;

/** Ranges that a search keeps to: mm/s, mm. */
interface SettingRanges {
  readonly feed: readonly [number, number];
  readonly pitch: readonly [number, number];
}

/** What holds settings where they are, the strongest reason first. */
export function limitsOf(space: SettingRanges, pass: Pass, outcome: Outcome): Limit[] {
  const limits: Limit[] = [];
  if (outcome.clearsZ !== null && outcome.clearsZ < WANTED_Z + NEAR_Z) limits.push('clearing');
  if (outcome.unscorchedZ < WANTED_Z + NEAR_Z) limits.push('scorch');
  if (Math.max(pass.lightEndPower, pass.darkEndPower) >= 0.995) limits.push('full-power');
  if (pass.feedMmPerS >= 0.995 * space.feed[1]) limits.push('top-feed');
  if (pass.rowPitchMm <= 1.03 * space.pitch[0]) limits.push('finest-rows');
  return limits;
}

/** L* between unburned and burned below which no picture can be seen. */
const SEEN_L = 6;

/** Tone error over the stack's own range from which nothing of a picture is left. */
const NO_PICTURE = 0.4;

/** Why none of the outcomes will do; null if one does. `rangeL`: L* between unburned and burned. */
export function obstacleOf(outcomes: readonly Outcome[], rangeL: number, lightens: boolean): Obstacle | null {
  if (rangeL < SEEN_L) return 'coats-alike';
  if (!lightens && outcomes.every(({ toneErrorL }) => toneErrorL > NO_PICTURE * rangeL)) return 'no-mark';
  if (outcomes.some((outcome) => violationOf(outcome) === 0)) return null;
  const cleared = outcomes.filter(({ clearsZ, unclearedShare }) => clearsZ === null || unclearedShare < CLEARED_SHARE);
  if (cleared.length === 0) return 'too-weak';
  return cleared.some(({ scorchedShare }) => scorchedShare < SCORCHED_SHARE) ? 'unsure' : 'scorches';
}

const ROLE_WORDS: Readonly<Record<Role, string>> = {
  best: 'Comes nearest to what matters to you',
  quickest: 'The quickest that keeps the limits',
  finest: 'The truest tones and the finest detail',
  safest: 'The widest margin on both sides',
  between: 'A middle way',
};

const LIMIT_WORDS: Readonly<Record<Limit, string>> = {
  clearing: 'less power or a faster feed would too often leave thick places dark',
  scorch: 'more power would scorch the undercoat',
  'full-power': 'the source gives no more',
  'top-feed': 'the machine moves no faster',
  'finest-rows': 'closer rows would cost time and show nothing',
};

/** One sentence: why it is suggested and what holds it there. */
export function whyOf({ role, limits }: Pick<Suggestion, 'role' | 'limits'>): string {
  const held = limits.slice(0, 2).map((limit) => LIMIT_WORDS[limit]);
  return `${ROLE_WORDS[role]}${held.length > 0 ? `; ${held.join(', and ')}` : ''}.`;
}

const OBSTACLE_WORDS: Readonly<Record<Obstacle, string>> = {
  'coats-alike':
    'Burned and unburned places of this stack look alike, so no setting makes a picture; give the coats different lightness.',
  'too-weak':
    'Even full power at the slowest sensible feed does not take the top coat away: it is too thick, or the source too weak or too far from what this paint takes up. A thinner top coat helps most.',
  scorches:
    'Whatever clears the top coat scorches the undercoat. A thinner or more even top coat helps, or an undercoat that stands more.',
  unsure:
    'There are settings that work if all numbers are as given, but not in 95 of 100 cases for paint and beam as little known as these. %CARD, or make the film more even.',
  'no-mark': 'Nothing within the machine’s reach leaves a mark dark enough to carry a picture.',
};

export const obstacleWords = (obstacle: Obstacle, { certainty }: Pick<Piece, 'certainty'>): string =>
  OBSTACLE_WORDS[obstacle].replace(
    '%CARD',
    certainty.source === 'calibrated'
      ? 'Burn another card, of the kind that measures what the last one left open'
      : 'Burn a test card and calibrate',
  );

/** What keeps a suggestion from being better still. */
type Limit = 'clearing' | 'scorch' | 'full-power' | 'top-feed' | 'finest-rows';

/** Why it is among the suggestions. */
export type Role = 'best' | 'quickest' | 'finest' | 'safest' | 'between';

/** What the judge says of a suggestion, burned on the picture's own dots. Shares 0–1. */
interface Checked {
  readonly minutes: number;
  readonly rows: number;
  /** In the middle one of all cases; null where the picture has no light areas. */
  readonly unclearedShare: number | null;
  readonly scorchedShare: number;
  /** L* by which the picture's tones come out off if all numbers are as given, root mean square. */
  readonly toneErrorL: number;
}

interface SuggestedOdds {
  readonly clears: number | null;
  readonly unscorched: number;
  /** The least of the two, and of what more draws say than those that are told. */
  readonly least: number;
  readonly draws: number;
}

export interface Suggestion {
  readonly id: string;
  readonly role: Role;
  readonly pass: Pass;
  /** How far the light areas are burned without gaps, 0–1; in the tone curve already. */
  readonly solid: number;
  /** Tone curve that belongs to it; null while it is not fitted yet. */
  readonly curve: Tone['curve'] | null;
  readonly outcome: Outcome;
  /** Share of drawn pieces whose light areas clear (null without any), and of those that stay unscorched; null until they are drawn. */
  readonly odds: SuggestedOdds | null;
  readonly checked: Checked | null;
  readonly limits: readonly Limit[];
}

/** Why nothing works. */
type Obstacle = 'coats-alike' | 'too-weak' | 'scorches' | 'unsure' | 'no-mark';

export interface ChooseResult {
  /** By minutes, rising; empty where nothing works. */
  readonly suggestions: readonly Suggestion[];
  readonly obstacle: Obstacle | null;
  /** Where nothing works: what comes nearest to it. */
  readonly nearest: Suggestion | null;
  /** Everything that was looked at and keeps the limits, for the picture of minutes against quality. */
  readonly seen: readonly { readonly minutes: number; readonly qualityLossL: number; readonly front: boolean }[];
  readonly evaluated: number;
  /** False while the search goes on. */
  readonly final: boolean;
  /** False where burning darkens. */
  readonly lightens: boolean;
}

/** Minutes of a suggestion, by its proof if there is one. */
export const minutesOf = ({ checked, outcome }: Suggestion): number => checked?.minutes ?? outcome.minutes;

/** The piece as it is burned with chosen settings; exposure, contrast and unsharp mask are the maker's. */
export const withSettings = (piece: Piece, pass: Pass, curve: Tone['curve'] | null): Piece => ({
  ...piece,
  passes: [pass],
  picture: curve ? { ...piece.picture, tone: { ...piece.picture.tone, gamma: 1, curve } } : piece.picture,
});

/** How far tones come out off: if all numbers are as given, and with what is not known. */
export function tonesOff({ checked, outcome }: Suggestion): string {
  const likely = Math.max(outcome.toneErrorL, checked?.toneErrorL ?? 0).toFixed(0);
  if (!checked) return `off by about ${likely}\u00a0L*`;
  return `off by ${checked.toneErrorL.toFixed(0)}\u00a0L* if all is as given, by about ${likely} with what is not known`;
}

const leastOdds = ({ odds }: Suggestion): number => odds?.least ?? 0;

export const keepsOdds = (suggestion: Suggestion): boolean => leastOdds(suggestion) >= WANTED_ODDS;

/** A result once its suggestions, or what came nearest, have odds: only what keeps them is suggested. */
export function settled(result: ChooseResult, judged: readonly Suggestion[]): ChooseResult {
  const works = judged.filter(keepsOdds);
  // What was taken for just too little may turn out good enough.
  if (works.length > 0 && (!result.nearest || result.obstacle === 'unsure')) {
    return { ...result, suggestions: works, obstacle: null, nearest: null, final: true };
  }
  if (result.nearest) return { ...result, nearest: judged[0], final: true };
  if (judged.length === 0) return { ...result, final: true };
  // What was taken for good enough just misses: the surest of them stays, as the nearest.
  const surest = judged.reduce((a, b) => (leastOdds(b) > leastOdds(a) ? b : a));
  return { ...result, suggestions: [], obstacle: 'unsure', nearest: surest, final: true };
}
