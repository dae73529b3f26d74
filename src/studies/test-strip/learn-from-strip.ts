import { fromHalfFloat } from '../../base/half-float.ts';
import {
  CLEARED_RESIDUE_UM,
  CLEARED_SHARE,
  LIGHT_AREA_LIGHTNESS,
  SCORCHED_LEVEL,
  SCORCHED_SHARE,
} from '../../burn/clearing.ts';
import type { Photo } from '../../burn/prepare.ts';
import type { ProofHooks, ProofPipeline } from '../../burn/proof.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { burnsAtLightEnd } from '../../burn/swath.ts';
import type { SwathResult } from '../../burn/swath-task.ts';
import type { Piece } from '../../piece/schema.ts';
import { patchShares } from '../rescue/propose.ts';
import { FEWEST_DRAWS, MOST_TIMES } from '../rescue/rescue-sample.ts';
import { createRescueScene, type RescueTools } from '../rescue/rescue-scene.ts';
import { drawPiece, effectiveCount, learnFrom, type Weighted } from '../sure/spread.ts';
import type { TestStrip } from './make-strip.ts';
import { bandPass, bandsOf, type LaidBand, type StripOrder } from './strip-piece.ts';

/** What the maker saw of the burned strip: numbers of bands, from 1. */
export interface StripAnswer {
  /** The first band that is clear; null if none is. */
  readonly clears: number | null;
  /** The first that is scorched, null if none is; undefined if nobody looked. */
  readonly scorches?: number | null;
}

export interface StripLesson {
  /** The piece with what the strip told; the piece as it was if nothing agrees. */
  readonly piece: Piece;
  readonly agrees: boolean;
  /** How many of the draws the answer is worth. */
  readonly worth: number;
}

/** Factor by which people may judge a share wrongly, as a logarithm: they see 2 % as cleared, or 10 % as not yet. */
const JUDGEMENT = 0.5;

const LESSON_DRAWS = 64;

const LEAST_SHARE = 1e-6;

/** Draws that agree less than this are given up. */
const NO_WEIGHT = 1e-4;

/**
 * Takes in what the maker saw: the piece is drawn as it may truly be, every draw burns the bands, and draws in which other bands clear or
 * scorch lose weight. One answer lies between two bands, so what is left open is as wide as their distance.
 * @throws RangeError for a band that the strip does not have, or an answer no strip can give; Cancelled if told to stop.
 */
export async function learnFromStrip(
  piece: Piece,
  photo: Photo,
  order: StripOrder,
  answer: StripAnswer,
  tools: RescueTools,
  onProgress: (share: number) => void = () => {},
  count = LESSON_DRAWS,
): Promise<StripLesson> {
  const bands = bandsOf(order);
  for (const number of [answer.clears, answer.scorches]) {
    if (number != null && !(number >= 1 && number <= bands.length)) {
      throw new RangeError(`the strip has the bands 1 to ${bands.length}, not ${number}`);
    }
  }
  const scene = createRescueScene(piece, photo, tools, order.crop);
  const last = piece.passes[piece.passes.length - 1];
  const before = piece.passes.slice(0, -1);
  const draws: Weighted<Piece>[] = [];
  for (let draw = 0; draw < count || (draw < MOST_TIMES * count && effectiveCount(draws) < FEWEST_DRAWS); draw++) {
    const drawn = drawPiece(piece, draw);
    let weight = 1;
    for (const [i, band] of bands.entries()) {
      if (weight < NO_WEIGHT) break;
      const passes = [...before, bandPass(last, band)].map((pass) => ({ ...pass, only: null }));
      const { uncleared, scorched } = patchShares(scene, await scene.burn({ ...drawn, passes }));
      const looksClear = likely(Math.log(CLEARED_SHARE / Math.max(LEAST_SHARE, uncleared)));
      weight *= answer.clears !== null && i + 1 >= answer.clears ? looksClear : 1 - looksClear;
      if (answer.scorches === undefined) continue;
      const looksScorched = likely(Math.log(Math.max(LEAST_SHARE, scorched) / SCORCHED_SHARE));
      weight *= answer.scorches !== null && i + 1 >= answer.scorches ? looksScorched : 1 - looksScorched;
    }
    draws.push({ value: drawn, weight });
    onProgress(Math.min(1, (draw + 1) / count));
  }
  const worth = effectiveCount(draws);
  const agrees = Math.max(...draws.map(({ weight }) => weight)) > 0.01 && worth >= FEWEST_DRAWS;
  if (!agrees) return { piece, agrees, worth };
  const learned = learnFrom(piece, draws);
  return { piece: { ...learned, certainty: { ...learned.certainty, source: 'calibrated' } }, agrees, worth };
}

const likely = (log: number): number => 1 / (1 + Math.exp(-log / JUDGEMENT));

/** What a band will come out as. Shares 0–1. */
interface BandProof {
  readonly band: LaidBand;
  /** Of its light dots (see `ProofSummary`); null if its part of the picture has none. */
  readonly uncleared: number | null;
  readonly residueUm: number | null;
  readonly scorched: number;
}

export interface StripProof {
  readonly bands: readonly BandProof[];
  readonly burnTimeS: number;
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** RGBA8, sRGB. */
  readonly color: Uint8Array;
}

/** Burns a strip through the whole pipeline and tells its bands apart. @throws Cancelled if told to stop. */
export async function proveStrip(
  { piece, picture, layout }: TestStrip,
  pipeline: ProofPipeline,
  runner: SwathRunner,
  hooks: ProofHooks = {},
  photoKey = 'strip',
): Promise<StripProof> {
  const strips: SwathResult[] = [];
  const proof = await pipeline.proof(
    {
      piece,
      photo: { key: photoKey, picture, castless: null },
      collect: { surface: true, fields: true, painted: false },
    },
    runner,
    { ...hooks, onSwath: (strip) => strips.push(strip) },
  );
  const { width, height, pitchMm } = proof.grid;
  const color = new Uint8Array(4 * width * height);
  const sums = layout.bands.map(() => ({ cells: 0, scorched: 0, light: 0, uncleared: 0, residueUm: 0 }));
  for (const strip of strips) {
    color.set(strip.color as Uint8Array, 4 * strip.y0 * width);
    const residue = strip.fields?.residueUm[0];
    for (let y = 0; y < strip.rows; y++) {
      const yMm = (strip.y0 + y + 0.5) * pitchMm;
      const at = layout.bands.findIndex(({ box }) => yMm >= box.yMm && yMm < box.yMm + box.heightMm);
      if (at < 0) continue;
      const { box } = layout.bands[at];
      for (
        let x = Math.round(box.xMm / pitchMm);
        x < Math.min(width, Math.round((box.xMm + box.widthMm) / pitchMm));
        x++
      ) {
        const cell = y * width + x;
        sums[at].cells++;
        if (fromHalfFloat((strip.relief as Uint16Array)[2 * cell + 1]) >= SCORCHED_LEVEL) sums[at].scorched++;
        const light = proof.tone.lightness[(strip.y0 + y) * width + x] >= LIGHT_AREA_LIGHTNESS;
        if (!light || !burnsAtLightEnd(proof.screened, proof.grid, x, strip.y0 + y)) continue;
        sums[at].light++;
        sums[at].residueUm += residue?.[cell] ?? 0;
        if ((residue?.[cell] ?? 0) > CLEARED_RESIDUE_UM) sums[at].uncleared++;
      }
    }
  }
  const bands = layout.bands.map((band, i) => {
    const { cells, scorched, light, uncleared, residueUm } = sums[i];
    return {
      band,
      uncleared: light > 0 ? uncleared / light : null,
      residueUm: light > 0 ? residueUm / light : null,
      scorched: cells > 0 ? scorched / cells : 0,
    };
  });
  return { bands, burnTimeS: proof.summary.burnTimeS, width, height, pitchMm, color };
}
