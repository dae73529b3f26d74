import { lightnessToLuminance, luminanceToLightness } from '../../image/lightness.ts';
import type { ToneImage } from '../../image/picture.ts';
import { passWarmth, type WarmthMap } from '../../physics/heat/warmth.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { findSpans, type PassRaster } from '../../physics/raster/pass-raster.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { planPass, subCells } from '../plan.ts';
import { warmthAt } from '../swath.ts';
import { ALL_DARK, ALL_LIGHT, createDotModel, type DotModel } from './dot-model.ts';
import { quickDots } from './quick-dots.ts';

/** What a pass's dots are placed by. */
export interface DotWork {
  readonly model: DotModel;
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** Luminance that is wanted of each dot's cell (Y, 0–1), and where there are dots: 0 where there is none. */
  readonly aim: Float32Array;
  readonly mask: Uint8Array;
  readonly twoWay: boolean;
  /** Whether the dark and the light end let light out: a row without any is not travelled. */
  readonly fires: readonly [dark: boolean, light: boolean];
  /** Which of the model's warmths a row finds: `[row · parts + part]`, parts of the row of equal length. */
  readonly warmth: Uint8Array;
  readonly parts: number;
}

/** Warmths that are told apart: each is found by as much of the picture as any other. */
const WARMTHS = 8;

/** Dots by the burn, placed in one sweep, and what they were placed by. */
export interface PlacedDots {
  readonly work: DotWork;
  readonly levels: Uint8Array;
  /** 1 where a row is travelled from its end to its start. */
  readonly backwards: Uint8Array;
}

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
  const { width, height, mask } = image;
  const planned = planPass(piece, pass, { width, height, pitchMm: pass.rowPitchMm, ...subCells(piece) });
  const twoWay = pass.rows === 'two-way';
  const modelAt = (warmthsK: readonly number[]) => createDotModel(piece, planned, twoWay, appearance, warmthsK);
  const fires = (level: number) => planned.wattsAt[level] > 0;
  const ends = [fires(0), fires(255)] as const;
  const size = { width, height, pitchMm: pass.rowPitchMm, mask, twoWay, fires: ends };
  const workOf = (model: DotModel, warmth: Uint8Array, parts: number): DotWork => {
    return { ...size, model, aim: aimOf(model, image), warmth, parts };
  };
  const cold = workOf(modelAt([warmK ?? 0]), new Uint8Array(height), 1);
  const levels = quickDots(cold);
  const spansOf = (dots: Uint8Array) => findSpans(dots, mask, width, height, fires, twoWay);
  const spans = spansOf(levels);
  if (!piece.heat.carryOver || warmK !== null) return { work: cold, levels, backwards: spans.backwards };
  const alone: Piece = { ...piece, passes: [pass] };
  const map = passWarmth(alone, 0, planned, { raster, levels, mask, spans });
  const found = warmthsOf(map, height, spans.backwards);
  const { warmthsK, steps } = inSteps(found);
  const work = workOf(modelAt(warmthsK), steps, map.nearColumns);
  const placed = quickDots(work);
  return { work, levels: placed, backwards: spansOf(placed).backwards };
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
  const steps = Uint8Array.from(found, (warmK) => {
    let step = 0;
    while (step < warmthsK.length - 1 && warmK > (warmthsK[step] + warmthsK[step + 1]) / 2) step++;
    return step;
  });
  return { warmthsK, steps };
}

/** Lightnesses, 0–1, of the darkest and the lightest that a pass shows, at a middling warmth. */
export function shownRange({ luminance, warmthsK, sway }: DotModel): { darkest: number; lightest: number } {
  const mean = (pattern: number) => {
    const middle = Math.floor(warmthsK.length / 2);
    const tables = sway.map((_, direction) => luminance[direction * warmthsK.length + middle]);
    return luminanceToLightness(tables.reduce((sum, table) => sum + table[pattern] / tables.length, 0));
  };
  return { darkest: mean(ALL_DARK), lightest: mean(ALL_LIGHT) };
}

const AIM_STEPS = 4096;

/** Even steps of the picture's lightness as even steps of the slab's; where the picture fades out it fades to the darkest. */
function aimOf(model: DotModel, { lightness, mask }: ToneImage): Float32Array {
  const { darkest, lightest } = shownRange(model);
  const table = Float32Array.from({ length: AIM_STEPS + 1 }, (_, i) =>
    lightnessToLuminance(darkest + ((lightest - darkest) * i) / AIM_STEPS),
  );
  const aim = new Float32Array(lightness.length);
  const [dark] = table;
  for (let i = 0; i < aim.length; i++) {
    const full = table[(lightness[i] * AIM_STEPS + 0.5) | 0];
    aim[i] = mask[i] === 255 ? full : dark + ((full - dark) * mask[i]) / 255;
  }
  return aim;
}
