import type { Lab } from '../../base/color/lab.ts';
import { WHITE_XYZ } from '../../base/color/spectrum.ts';
import { burnCell } from '../../burn/kernel/burn.kernel.ts';
import { warmFactor } from '../../burn/strip-ground.ts';
import { screenTone } from '../../image/screens/screen-tone.ts';
import { type AppearanceTable, appearanceIndex } from '../../physics/material/appearance.ts';
import { rowExposure } from '../../physics/raster/exposure.ts';
import type { Piece } from '../../piece/schema.ts';
import type { CardBurn } from '../../vision/card/card.ts';
import { jobOf, type PatchJob, wattsOf } from './patch-job.ts';
import { linearRgbToXyz } from './rgb-xyz.ts';
import type { ToneColors } from './tone-colors.ts';

/** What an even patch comes out as. */
export interface PatchState {
  readonly lab: Lab;
  /** Mean residue of the top coat, µm, and mean dose that has gone past it, J/mm². */
  readonly residueUm: number;
  readonly excess: number;
  /** Mean depth in the wood and in the coats below the top one, µm. */
  readonly belowUm: number;
}

/** Fine cells across a row: of an even patch, and of a screened one, which has them staggered as a proof has. Fewer make half-cleared rows too light or too dark. */
const ACROSS = 9;
const ACROSS_SCREENED = 8;
const STRIDE_SCREENED = 3;
/** Dots along the side of a screened patch, and round it, where error diffusion has not settled yet. */
const DOTS = 12;
const MARGIN = 8;

type Rows = number[][];
const plane = (rows: number, columns: number, value = 0): Rows =>
  Array.from({ length: rows }, () => new Array<number>(columns).fill(value));

/**
 * Burns an even patch by the kernel's own functions in float64. Continuous tone is the same all along a row: one column will do, nine
 * places across. Screens of dots are burned dot by dot. `filmFactors`: the film's thickness over the piece's, each with its weight;
 * `warmthsK`: how warm each burn finds the work.
 */
export function predictPatch(
  piece: Piece,
  burns: readonly CardBurn[],
  colors: ToneColors,
  below: () => AppearanceTable,
  filmFactors: readonly (readonly [factor: number, weight: number])[],
  warmthsK: readonly number[],
): PatchState {
  const screened = burns.some((burn) => burn.screen !== 'continuous');
  const cellRows = screened ? DOTS : 1;
  const cellColumns = screened ? DOTS : 1;
  const subY = screened ? ACROSS_SCREENED : ACROSS;
  const pitchMm = burns[0].rowPitchMm;
  const grid = { width: cellColumns, height: cellRows, pitchMm, subX: 1, subY, stride: screened ? STRIDE_SCREENED : 0 };
  const jobs = burns.map((burn) => jobOf(piece, burn, grid));
  const exposures = burns.map((burn, i) => exposureOf(burn, jobs[i], screened));
  const { coats } = piece.stack;
  const { wood } = piece.slab;
  const xyz = new Float64Array(3);
  let residue = 0;
  let passed = 0;
  let deeper = 0;
  for (const [factor, weight] of filmFactors) {
    const height = cellRows * subY;
    const thickness: Rows = coats.flatMap((coat, i) =>
      plane(cellRows, cellColumns, coat.dryThicknessUm * (i === 0 ? factor : 1)),
    );
    let depth = plane(height, cellColumns);
    let excess = plane(height, cellColumns);
    burns.forEach((burn, i) => {
      const job = jobs[i];
      const warm = warmFactor(warmthsK[i] ?? 0) * (job.coldFactors.length === 1 ? job.coldFactors[0] : 1);
      const ground = [
        ...plane(cellRows, cellColumns, warm),
        ...plane(cellRows, cellColumns, wood.absorptance),
        ...plane(cellRows, cellColumns, 1),
        ...plane(cellRows, cellColumns, 0),
      ];
      const burned = burnPlane(job, exposures[i], { depth, excess, thickness, ground }, coats.length, {
        cellRows,
        subY,
        pitchMm,
        rowPitchMm: burn.rowPitchMm,
      });
      depth = burned.depth;
      excess = burned.excess;
    });
    const share = weight / (height * cellColumns);
    const topUm = coats[0].dryThicknessUm * factor;
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < cellColumns; x++) {
        const left = topUm - depth[y][x];
        passed += share * excess[y][x];
        if (left > 0 || depth[y][x] === topUm) {
          residue += share * left;
          colors.add(left, excess[y][x], share, xyz);
        } else {
          deeper += share * -left;
          addBelow(below(), piece, -left, excess[y][x], share, xyz);
        }
      }
    }
  }
  return { lab: labOf(xyz), residueUm: residue, excess: passed, belowUm: deeper };
}

/** States below the top coat are read from the proof's own table. */
function addBelow(
  table: AppearanceTable,
  piece: Piece,
  under: number,
  excess: number,
  share: number,
  out: Float64Array,
) {
  const { coats } = piece.stack;
  let layer = 1;
  let rest = under;
  while (layer < coats.length && rest >= coats[layer].dryThicknessUm) rest -= coats[layer++].dryThicknessUm;
  if (layer < coats.length) rest = coats[layer].dryThicknessUm - rest;
  const at = appearanceIndex(table, layer, rest, excess);
  const xyz = linearRgbToXyz(table.rgb[at], table.rgb[at + 1], table.rgb[at + 2]);
  for (let k = 0; k < 3; k++) out[k] += share * xyz[k];
}

/** Levels of screens, which do not depend on what is fitted. */
const screens = new Map<string, Uint8Array>();

function exposureOf(burn: CardBurn, job: PatchJob, screened: boolean): Rows {
  const taps = job.weights.width;
  if (!screened) {
    return plane(taps + 1, 2, wattsOf(job, burn) / job.optics.feedMmPerS);
  }
  const side = DOTS + 2 * MARGIN;
  const key = JSON.stringify([burn.screen, burn.lightness, burn.serpentine]);
  let levels = screens.get(key);
  if (!levels) {
    const image = {
      width: side,
      height: side,
      lightness: new Float32Array(side * side).fill(burn.lightness),
      mask: new Uint8Array(side * side).fill(255),
    };
    levels = screenTone(image, burn.screen, { serpentine: burn.serpentine });
    if (screens.size > 200) screens.clear();
    screens.set(key, levels);
  }
  const found = levels;
  return Array.from({ length: side }, (_, r) => {
    const watts = Float64Array.from({ length: side }, (__, c) => job.wattsAt[found[r * side + c]]);
    return Array.from(rowExposure(watts, false, 0, 0, side, job.optics, new Float32Array(side * ACROSS_SCREENED)));
  });
}

interface Planes {
  readonly depth: Rows;
  readonly excess: Rows;
  readonly thickness: Rows;
  readonly ground: Rows;
}

function burnPlane(
  job: PatchJob,
  exposure: Rows,
  { depth, excess, thickness, ground }: Planes,
  coats: number,
  { cellRows, subY, pitchMm, rowPitchMm }: { cellRows: number; subY: number; pitchMm: number; rowPitchMm: number },
): { depth: Rows; excess: Rows } {
  const taps = job.weights.width;
  const { weightRows: weights, layerRows: layers } = job;
  const single = exposure[0].length === 2;
  const perY = pitchMm / (rowPitchMm * subY);
  const first = single ? Math.floor(taps / 2) : MARGIN;
  const height = depth.length;
  const width = depth[0].length;
  const run = (wanted: number, depthAfter: Rows): Rows => {
    const out = plane(height, width);
    for (let y = 0; y < height; y++) {
      // The row that a place of a lone column belongs to is the middle one, wherever another pitch would put it.
      const place = (y + 0.5) * perY;
      const origin = single ? first + (place - Math.floor(place)) : first + place;
      for (let x = 0; x < width; x++) {
        out[y][x] = burnCell.call(
          { thread: { x, y, z: 0 } },
          excess,
          depth,
          depthAfter,
          exposure,
          weights,
          thickness,
          ground,
          layers,
          wanted,
          coats,
          cellRows,
          1,
          subY,
          job.phases,
          taps,
          origin,
          0,
          0,
          single ? 0 : (MARGIN + 0.5) * ACROSS_SCREENED - 0.5,
          single ? 0 : ACROSS_SCREENED,
          0,
          single ? 0 : STRIDE_SCREENED,
        );
      }
    }
    return out;
  };
  const after = run(0, depth);
  return { depth: after, excess: run(1, after) };
}

/** CIE L*a*b* of XYZ in the spectral tables' white. */
export function labOf(xyz: ArrayLike<number>): Lab {
  const [x, y, z] = [0, 1, 2].map((k) => lightnessCube(xyz[k] / WHITE_XYZ[k]));
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** L* of a luminance, Y of white 1. */
export const lightnessOf = (luminance: number): number => 116 * lightnessCube(luminance / WHITE_XYZ[1]) - 16;

const lightnessCube = (share: number): number =>
  share > 216 / 24389 ? Math.cbrt(share) : ((24389 / 27) * share + 16) / 116;
