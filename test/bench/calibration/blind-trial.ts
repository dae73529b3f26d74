import type { Lab } from '../../../src/base/color/lab.ts';
import { type AppearanceTable, buildAppearance } from '../../../src/physics/material/appearance.ts';
import { createPiece, plainSlab } from '../../../src/piece/defaults.ts';
import type { Piece } from '../../../src/piece/schema.ts';
import { packTiles } from '../../../src/piece/tiles.ts';
import { type CardFit, fitCards } from '../../../src/studies/calibrate/fit-card.ts';
import { predictPatch, type ToneColors } from '../../../src/studies/calibrate/predict-card.ts';
import { fittedClearing, proposeCards } from '../../../src/studies/calibrate/propose.ts';
import { drawPiece } from '../../../src/studies/sure/spread.ts';
import type { Card, CardKind } from '../../../src/vision/card/card.ts';
import { CARD_WISH, evenBurn, makeCard } from '../../../src/vision/card/make-card.ts';
import { ReadingError } from '../../../src/vision/card/reading.ts';
import { luck, normal } from '../../reference/finer-model/film.ts';
import type { Workshop } from '../../reference/finer-model/workshop.ts';
import { lookAt, readBurned } from './burn-card.ts';

/** Which cards a maker burns, in which order. */
export const CARD_SETS = {
  'one, proposed': ['best'],
  'two, proposed': ['best', '>', 'best'],
  'wedge and second pass': ['step-wedge', 'second-pass'],
  'wedge, lines and second pass': ['step-wedge', 'lines', 'second-pass'],
  'wedge, then second pass by its fit': ['step-wedge', '>', 'second-pass'],
} as const;
export type CardSet = keyof typeof CARD_SETS;

export const FEED = 100;
export const PITCH = 0.1;
/** How well a maker knows colours that he enters, L* and a*, b*. */
const COLOR_DEVIATION = 0.7;
/** Where cards and picture lie on the film, mm. */
const CARDS_AT: readonly (readonly [number, number])[] = [
  [0, 0],
  [0, 110],
  [0, 220],
];
export const PICTURE_AT = [300, 40] as const;

/** A piece as a maker of that workshop would start: the preset, colours measured, everything else unknown. */
export function startingPiece(workshop: Workshop, seed: number): Piece {
  const piece = createPiece('blind', 'picture.png');
  const next = luck(seed + 77);
  const seen = (leftUm: number): Lab => {
    const lab = lookAt(workshop, leftUm);
    return lab.map((value) => Math.round(10 * (value + COLOR_DEVIATION * normal(next))) / 10) as unknown as Lab;
  };
  const [top, under] = piece.stack.coats;
  return {
    ...piece,
    slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 400, heightMm: 400 },
    stack: {
      ...piece.stack,
      coats: [
        { ...top, colorLab: seen(workshop.world.filmUm) },
        { ...under, colorLab: seen(0) },
      ],
    },
    picture: { ...piece.picture, crop: 'rectangle' },
    passes: [{ ...piece.passes[0], feedMmPerS: FEED, rowPitchMm: PITCH, screen: 'continuous' }],
  };
}

/** Burns, photographs and reads the cards of a set and fits the piece to them. */
export async function calibrate(workshop: Workshop, piece: Piece, set: CardSet, seed: number): Promise<CardFit> {
  const read: { card: Card; reading: Awaited<ReturnType<typeof readBurned>> }[] = [];
  let from = piece;
  for (const kind of CARD_SETS[set]) {
    if (kind === '>') {
      from = fitCards(piece, read).piece;
      continue;
    }
    const card =
      kind === 'best'
        ? proposeCards(from, { widthMm: 120, heightMm: 90 })[0].card
        : makeCard(kind as CardKind, from, {
            ...CARD_WISH,
            widthMm: 110,
            heightMm: 70,
            clearing: fittedClearing(from),
          });
    read.push({ card, reading: await readBurned(workshop, piece, card, CARDS_AT[read.length], seed + read.length) });
  }
  if (read.length === 0) throw new ReadingError('no card was read');
  return fitCards(piece, read);
}

const NO_COLORS: ToneColors = { add: () => {} };

/** Mean residue of an even burn by the piece, µm, and what it is made of over films of given factors. */
function residueBy(piece: Piece, below: () => AppearanceTable, powers: readonly number[], factor: number): number {
  const burns = powers.map((power) => evenBurn(piece, power));
  return predictPatch(piece, burns, NO_COLORS, below, [[factor, 1]], []).residueUm;
}

function residueIn(workshop: Workshop, powers: readonly number[], factor: number): number {
  const burns = powers.map((power) => ({ power, feedMmPerS: FEED, pitchMm: PITCH, warmK: 0 }));
  const { leftUm } = workshop.even(workshop.world.filmUm * factor, burns);
  return leftUm.reduce((sum, value) => sum + value, 0) / leftUm.length;
}

/** A film that keeps a µm counts as cleared. */
const CLEARED_UM = 1;
const WEAK = 0.86;

function leastPower(residueAt: (power: number) => number): number {
  let [low, high] = [0.02, 2.5];
  for (let i = 0; i < 16; i++) {
    const middle = Math.sqrt(low * high);
    if (residueAt(middle) <= CLEARED_UM) high = middle;
    else low = middle;
  }
  return high;
}

/** What is asked of a fit, and of the world: one number each. Powers of the first pass are the world's own. */
export interface Answers {
  readonly clearing: number;
  readonly second: number;
  readonly residue: number;
  readonly leftDark: number;
}

/** Quantiles of a normal film: its slow and fine variation together. */
const QUANTILES = [-1.645, -1.036, -0.674, -0.385, -0.126, 0.126, 0.385, 0.674, 1.036, 1.645];

export function answersOf(
  residueAt: (powers: readonly number[], factor: number) => number,
  worldClears: number,
  lightPower: number,
  filmDeviation: number,
): Answers {
  const clearing = leastPower((power) => residueAt([power], 1));
  const second = leastPower((power) => residueAt([WEAK * worldClears, power], 1));
  const left = QUANTILES.map((z) => residueAt([lightPower], 1 + filmDeviation * z));
  return {
    clearing,
    second,
    residue: left.reduce((sum, value) => sum + value, 0) / left.length,
    leftDark: 1 - normalShare(thickestCleared(left)),
  };
}

/** How many standard deviations thicker a film may be and still clear: read off between those that were burned, or beyond them at the same slope. */
function thickestCleared(left: readonly number[]): number {
  let i = 0;
  while (i < left.length - 2 && left[i + 1] <= CLEARED_UM) i++;
  const slope = (left[i + 1] - left[i]) / (QUANTILES[i + 1] - QUANTILES[i]);
  return QUANTILES[i] + (CLEARED_UM - left[i]) / Math.max(1e-6, slope);
}

/** Share of a normal distribution below z, by its logistic look-alike (within 0.01). */
const normalShare = (z: number): number => 1 / (1 + Math.exp(-1.702 * z));

export interface Judged {
  readonly truth: Answers;
  readonly said: Answers;
  readonly low: Answers;
  readonly high: Answers;
}

/** The answers of a fit with their nine tenths, from draws, beside the world's. */
export function judge(workshop: Workshop, piece: Piece, lightShare: number, draws: number): Judged {
  const { world } = workshop;
  const deviation = Math.hypot(world.slow, world.fine);
  const lightPower = lightShare * world.clearsAt;
  const cold: Piece = { ...piece, heat: { ...piece.heat, carryOver: false } };
  // Only residues are asked for: one table of colours will do for all draws.
  const table = buildAppearance(piece.stack, piece.slab.wood, piece.machine.airFlow);
  const of = (one: Piece) =>
    answersOf((powers, factor) => residueBy(one, () => table, powers, factor), world.clearsAt, lightPower, deviation);
  const all = Array.from({ length: draws }, (_, draw) => of(drawPiece(cold, 500 + draw)));
  const end = (share: number): Answers => {
    const at = (key: keyof Answers) => {
      const sorted = all.map((one) => one[key]).sort((a, b) => a - b);
      return sorted[Math.min(draws - 1, Math.max(0, Math.round(share * (draws - 1))))];
    };
    return { clearing: at('clearing'), second: at('second'), residue: at('residue'), leftDark: at('leftDark') };
  };
  return {
    truth: answersOf((powers, factor) => residueIn(workshop, powers, factor), world.clearsAt, lightPower, deviation),
    said: of(cold),
    low: end(0.05),
    high: end(0.95),
  };
}

/** The piece with the world's film as a map of factors over the place of the picture, or even. */
export function withFilm(piece: Piece, workshop: Workshop, widthMm: number, heightMm: number, known: boolean): Piece {
  const coats = piece.stack.coats.map((coat) => ({ ...coat, slowVariation: 0, fineVariation: 0 }));
  const pitchMm = 0.4;
  const columns = Math.ceil(widthMm / pitchMm);
  const rows = Math.ceil(heightMm / pitchMm);
  const bytes = Uint8Array.from({ length: columns * rows }, (_, i) =>
    Math.round(
      128 *
        workshop.film(
          PICTURE_AT[0] + ((i % columns) + 0.5) * pitchMm,
          PICTURE_AT[1] + (Math.floor(i / columns) + 0.5) * pitchMm,
        ),
    ),
  );
  const found = { xMm: -widthMm / 2, yMm: -heightMm / 2, pitchMm, tiles: packTiles(columns, rows, bytes) };
  return { ...piece, stack: { ...piece.stack, coats, film: { ...piece.stack.film, found: known ? found : null } } };
}
