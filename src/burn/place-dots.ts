import type { ToneImage } from '../image/picture.ts';
import { passWarmth, type WarmthMap } from '../physics/heat/warmth.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import { findSpans, type PassRaster } from '../physics/raster/pass-raster.ts';
import type { Pass, Piece } from '../piece/schema.ts';
import { createDotModel } from './dot-model.ts';
import { aimsOf, type DotWork, type PlacedDots } from './dot-work.ts';
import { planPass, subCells } from './plan.ts';
import { quickDots } from './quick-dots.ts';
import { warmthAt } from './swath.ts';

/** Warmths that are told apart: each is found by as much of the picture as any other. */
const WARMTHS = 6;

/**
 * Places a pass's dots in one sweep, so that the slab comes out as the picture asks, evenly between the darkest and the lightest that the pass
 * shows. Twice where heat goes on from row to row: how warm the work is depends on the dots.
 * `image`: the picture in the pass's raster, its tones as they should look. `warmK`: equally warm everywhere; where left out as the dots make it.
 */
export function placeDots(
  piece: Piece,
  pass: Pass,
  image: ToneImage,
  raster: PassRaster,
  appearance: AppearanceTable,
  warmK: number | null = null,
): PlacedDots {
  const { width, height, lightness, mask } = image;
  const planned = planPass(piece, pass, { width, height, pitchMm: pass.rowPitchMm, ...subCells(piece) });
  const twoWay = pass.rows === 'two-way';
  const fires = (level: number) => planned.wattsAt[level] > 0;
  const ends = [fires(0), fires(255)] as const;
  const workOf = (both: boolean, warmthsK: readonly number[], warmth: Uint8Array, parts: number): DotWork => {
    const model = createDotModel(piece, planned, both, appearance, warmthsK);
    const plain = { model, width, height, pitchMm: pass.rowPitchMm, lightness, mask };
    return { ...plain, aims: aimsOf(model), twoWay: both, fires: ends, warmth, parts };
  };
  const spansOf = (levels: Uint8Array) => findSpans(levels, mask, width, height, fires, twoWay);
  const swept = (work: DotWork): PlacedDots => {
    const levels = quickDots(work);
    return { work, levels, backwards: spansOf(levels).backwards };
  };
  const even = new Uint8Array(height);
  if (!piece.heat.carryOver || warmK !== null) return swept(workOf(twoWay, [warmK ?? 0], even, 1));
  // Which way rows run makes no difference to how much of them is light.
  const levels = quickDots(workOf(false, [0], even, 1));
  const spans = spansOf(levels);
  const map = passWarmth({ ...piece, passes: [pass] }, 0, planned, { raster, levels, mask, spans });
  const { warmthsK, steps } = inSteps(warmthsOf(map, height, spans.backwards));
  return swept(workOf(twoWay, warmthsK, steps, map.nearColumns));
}

/** Warmth of each part of each row as the beam comes by, K. */
function warmthsOf(map: WarmthMap, rows: number, backwards: Uint8Array): Float32Array {
  const parts = map.nearColumns;
  const found = new Float32Array(rows * parts);
  for (let row = 0, i = 0; row < rows; row++) {
    for (let part = 0; part < parts; part++, i++) {
      found[i] = warmthAt(map, (part + 0.5) * map.nearDots, row + 0.5, row, backwards[row]);
    }
  }
  return found;
}

/** One in so many places says how warm all of them are. */
const SAMPLED = 13;

/** Warmths in the middles of equal shares of all places, and for each place which of them is nearest. */
function inSteps(found: Float32Array): { warmthsK: number[]; steps: Uint8Array } {
  const sorted = found.filter((_, i) => i % SAMPLED === 0).sort();
  const middles = Array.from({ length: WARMTHS }, (_, i) => sorted[Math.floor(((i + 0.5) / WARMTHS) * sorted.length)]);
  const warmthsK = [...new Set(middles)];
  const steps = new Uint8Array(found.length);
  for (let i = 0, step = 0; i < found.length; i++) {
    while (step > 0 && found[i] <= (warmthsK[step - 1] + warmthsK[step]) / 2) step--;
    while (step < warmthsK.length - 1 && found[i] > (warmthsK[step] + warmthsK[step + 1]) / 2) step++;
    steps[i] = step;
  }
  return { warmthsK, steps };
}
