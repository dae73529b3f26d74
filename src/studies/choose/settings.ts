import { mmPerMinToMmPerS } from '../../base/units.ts';
import { halfAngleRad } from '../../physics/beam/gaussian.ts';
import { outputPowerW, spotRadii } from '../../physics/beam/source.ts';
import { burnDirection } from '../../physics/material/appearance.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Pass, Piece, ScreenMethod } from '../../piece/schema.ts';
import { WARMTH_OVER_MEAN } from './bench.ts';
import { clearingWatts, columnOf, scorchingWatts } from './column.ts';
import type { Facts } from './facts.ts';
import { hardnessOf, hardPiece } from './hard-draw.ts';
import { WANTED_Z } from './outcome.ts';
import type { Place } from './search.ts';

/**
 * The variables of a search, each 0–1: power at the end that burns, feed, row pitch, spread of the spot, power at the other end, and how far
 * light areas are burned solid.
 * Power is told between what should just clear and what should just not scorch, so that it fits whatever the others are.
 */
export const VARIABLES = 6;
export const solidAt = ({ at }: Place): number => at[5];

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
export function passAt(space: SettingsSpace, place: Place): Pass {
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
export function placeOf(space: SettingsSpace, pass: Pass): Place {
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
  const hardness = hardnessOf(piece, pass, warmthK);
  const hard = columnOf(hardPiece(piece, hardness, WANTED_Z), pass, films[0], WARMTH_OVER_MEAN.cool * warmthK);
  const easyPiece = hardPiece(piece, hardness, -WANTED_Z);
  const easy = columnOf(easyPiece, pass, films[1], WARM * warmthK);
  const powerShift = Math.exp(WANTED_Z * hardness.powerShift);
  const dots = pass.screen === 'continuous' ? 1 : DOT_SHARE;
  return [clearingWatts(hard) / powerShift / dots, scorchingWatts(easy, easyPiece) * powerShift, first.thresholdWatts];
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
