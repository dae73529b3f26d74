import { luminanceOf } from '../../base/color/srgb.ts';
import { inLanes } from '../../base/in-lanes.ts';
import { breathe } from '../../base/stop.ts';
import {
  binsOf,
  countBins,
  filmPlaceOfBin,
  inBins,
  lightThreshold,
  meanOver,
  SCENE_BINS,
  toneOfBin,
} from '../../burn/coarse.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { burnToneScale, type CoarseScene, type ToneScale, toneScaleAt } from '../../burn/tone-scale.ts';
import { createFilmAt } from '../../physics/film/laid-film.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Judged, Judgement, Outcome } from './judge.ts';
import { drawPiece } from './spread.ts';

/** Ends of the middle eight tenths of the draws, and their middle. */
export interface Band {
  readonly low: number;
  readonly middle: number;
  readonly high: number;
}

/** How sure a proof is. Shares 0–1. */
export interface HowSure {
  /** Bands of what the proof's summary gives; null where the picture has no light areas. */
  readonly uncleared: Band | null;
  readonly residueUm: Band | null;
  readonly scorched: Band;
  /** Share of the draws in which the light areas clear; null without any. */
  readonly clears: number | null;
  /** Share of the draws in which less than `SCORCHED_SHARE` of the picture scorches. */
  readonly staysUnscorched: number;
  /** Share of the draws that a maker would take: the light areas clear and nothing scorches. The verdict's odds. */
  readonly accepted: number;
  readonly draws: number;
  readonly map: OddsMap;
}

/** Per cell of the quick look, 0–255: how likely a light place stays uncleared, and how likely a place scorches. */
interface OddsMap {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly uncleared: Uint8Array;
  readonly scorched: Uint8Array;
}

/** Draws whose tone scale goes into the map: one in so many. */
const MAP_EVERY = 4;

/**
 * How sure a judged piece is, with a map of the odds place by place: what each tone comes to on some of the judge's draws and on every film
 * that may lie there.
 * @throws Cancelled if told to stop.
 */
export async function howSure(
  piece: Piece,
  { judge, judgement }: Judged,
  appearance: AppearanceTable,
  scene: CoarseScene,
  runner: SwathRunner,
  warmthsK: readonly number[] = [],
  signal?: AbortSignal,
): Promise<HowSure> {
  const map = createMap(piece, scene);
  const scales = await inLanes(Math.ceil(judge.draws / MAP_EVERY), runner.lanes, async (i) => {
    await breathe(signal);
    const drawn = drawPiece(piece, MAP_EVERY * i);
    return { drawn, scale: await burnToneScale(drawn, appearance, runner, warmthsK) };
  });
  for (const { drawn, scale } of scales) map.add(drawn, scale);
  return { ...bandsOf(judgement, judge.lit), map: map.odds() };
}

/** Bands and odds of a judgement. */
export function bandsOf({ outcomes, clears, unscorched, accepted }: Judgement, lit: boolean): Omit<HowSure, 'map'> {
  const bandOf = (pick: (one: Outcome) => number) => band(outcomes.map(pick));
  return {
    uncleared: lit ? bandOf(({ uncleared }) => uncleared) : null,
    residueUm: lit ? bandOf(({ residueUm }) => residueUm) : null,
    scorched: bandOf(({ scorched }) => scorched),
    clears,
    staysUnscorched: unscorched,
    accepted,
    draws: outcomes.length,
  };
}

function band(values: number[]): Band {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
  return { low: at(0.1), middle: at(0.5), high: at(0.9) };
}

/** Places of a grid over the slab at which a drawn film is asked for, along each side. */
const FILM_PLACES = 12;

/** A film that is drawn because nobody has measured it tells nothing of a place. */
const isMeasured = ({ stack }: Piece): boolean => stack.film.shown === 'mean' || stack.film.found !== null;

const meanFilm = (stack: Piece['stack']): Piece['stack'] => ({ ...stack, film: { ...stack.film, shown: 'mean' } });

function measuredFilm(piece: Piece, scene: CoarseScene): CoarseScene {
  if (isMeasured(piece)) return scene;
  const film = scene.ground.film.map((thickness) => (thickness > 0 ? 1 : 0));
  return { ...scene, ground: { ...scene.ground, film } };
}

/** What each tone comes to on every film that may lie there. */
function createMap(piece: Piece, scene: CoarseScene) {
  const bins = binsOf(measuredFilm(piece, scene));
  const lightFrom = lightThreshold(piece);
  const uncleared = new Float64Array(SCENE_BINS);
  const scorched = new Float64Array(SCENE_BINS);
  const { width, height, pitchMm, lightness } = scene;
  const { offsetXMm, offsetYMm } = piece.picture;
  const known = createFilmAt(piece.slab, isMeasured(piece) ? piece.stack : meanFilm(piece.stack));
  let added = 0;
  /** Films of a draw over those that the scene shows. */
  const filmsOf = (drawn: Piece): number[] => {
    const lies = createFilmAt(drawn.slab, { ...drawn.stack, coats: piece.stack.coats });
    const films: number[] = [];
    for (let i = 0; i < FILM_PLACES * FILM_PLACES; i++) {
      const xMm = offsetXMm + (((i % FILM_PLACES) + 0.5) / FILM_PLACES - 0.5) * width * pitchMm;
      const yMm = offsetYMm + ((Math.floor(i / FILM_PLACES) + 0.5) / FILM_PLACES - 0.5) * height * pitchMm;
      const there = known(xMm, yMm);
      if (there > 0) films.push(lies(xMm, yMm) / there);
    }
    films.sort((a, b) => a - b);
    const nodes = 7;
    return films.length < nodes
      ? [1]
      : Array.from({ length: nodes }, (_, k) => films[Math.floor(((k + 0.5) * films.length) / nodes)]);
  };
  return {
    add(drawn: Piece, scale: ToneScale): void {
      added++;
      const films = filmsOf(drawn);
      const [lowest, highest] = [scale.films[0], scale.films[scale.films.length - 1]];
      for (let bin = 0; bin < SCENE_BINS; bin++) {
        const film = lowest + (highest - lowest) * filmPlaceOfBin(bin);
        for (const factor of films) {
          const place = Math.min(1, Math.max(0, (film * factor - lowest) / (highest - lowest)));
          const at = toneScaleAt(scale, toneOfBin(bin), place);
          uncleared[bin] += at(scale.uncleared) / films.length;
          scorched[bin] += at(scale.scorchedShare) / films.length;
        }
      }
    },
    odds(): OddsMap {
      const map = { uncleared: new Uint8Array(bins.length), scorched: new Uint8Array(bins.length) };
      const per = added > 0 ? 255 / added : 0;
      for (let i = 0; i < bins.length; i++) {
        if (bins[i] < 0) continue;
        if (lightness[i] >= lightFrom) map.uncleared[i] = per * uncleared[bins[i]] + 0.5;
        map.scorched[i] = per * scorched[bins[i]] + 0.5;
      }
      return { width, height, pitchMm, ...map };
    },
  };
}

/** Pieces at the ends of what is likely: of ten, one comes out darker than the first and one lighter than the second. */
interface LikelyEnds {
  readonly darker: Piece;
  readonly lighter: Piece;
}

interface LikelyHooks {
  readonly draws: number;
  readonly warmthsK?: readonly number[];
  readonly signal?: AbortSignal;
  readonly onShare?: (share: number) => void;
}

/**
 * Burns the tone scale of pieces that this one may truly be (`drawPiece`) and sorts them by how much light their picture gives back.
 * @throws Cancelled if told to stop.
 */
export async function likelyEnds(
  piece: Piece,
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: SwathRunner,
  { draws, warmthsK = [], signal, onShare }: LikelyHooks,
): Promise<LikelyEnds> {
  const counts = countBins(binsOf(scene));
  let begun = 0;
  const drawn = await inLanes(draws, runner.lanes, async (draw) => {
    await breathe(signal);
    onShare?.(begun++ / draws);
    const one = drawPiece(piece, draw);
    const scale = await burnToneScale(one, appearance, runner, warmthsK);
    const rgb = [0, 1, 2].map((k) => meanOver(inBins(scale, scale.rgb, 3, k), counts));
    return { piece: one, luminance: luminanceOf(rgb) };
  });
  drawn.sort((a, b) => a.luminance - b.luminance);
  const at = (share: number): Piece => drawn[Math.min(drawn.length - 1, Math.floor(share * drawn.length))].piece;
  return { darker: at(0.1), lighter: at(0.9) };
}

/** Colour differences that just show side by side and that nobody overlooks, ΔE00 (common practice, no published source). */
export const JUST_SHOWS = 1;

export const PLAINLY_SHOWS = 3;
