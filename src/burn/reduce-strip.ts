import { encodeSrgbByte } from '../base/color/srgb.ts';
import { toHalfFloat } from '../base/half-float.ts';
import { appearanceIndex } from '../physics/material/appearance.ts';
import { scorchLevel } from '../physics/material/scorch.ts';
import { CLEARED_RESIDUE_UM, SCORCHED_LEVEL } from './clearing.ts';
import type { BackendName } from './kernel/contract.ts';
import type { StripStack } from './strip.ts';
import {
  HISTOGRAM_BIN_UM,
  HISTOGRAM_BINS,
  type StripFields,
  type StripJob,
  type StripResult,
  type StripTask,
} from './strip-task.ts';

/** Shade of the palest wood that is told apart. */
const PALEST = -0.4;
/** Depths below the face from which a crack starts to look dark, and at which half the light is lost (estimates). */
const CRACK_UM = 120;
const HALF_DARK_UM = 250;

/** Share of the light that comes back out of a place so far below the face. */
function lightInCrack(heightUm: number): number {
  const deep = -heightUm - CRACK_UM;
  return deep > 0 ? 1 / (1 + deep / HALF_DARK_UM) : 1;
}

/**
 * Means over the fine cells of each cell: colour in linear light, residues, depth, dose; and the strip's counts. `unsoundInput`: values the
 * burn was given that are no numbers, counted with those it gave.
 */
export function reduceStrip(
  job: StripJob,
  task: StripTask,
  depthUm: Float32Array,
  excess: Float32Array,
  stack: StripStack,
  backend: BackendName,
  unsoundInput: number,
): StripResult {
  const { width, subX, subY, appearance } = job;
  const coats = job.stack.coats;
  const n = coats.length;
  const cells = width * task.rows;
  const fineWidth = width * subX;
  const perFine = 1 / (subX * subY);
  const nominalUm = coats.reduce((sum, coat) => sum + coat.dryThicknessUm, 0);
  const scorchAbsorptance = n >= 2 ? coats[1].absorptance : 0;
  const scorchOnset = n >= 2 ? coats[1].scorchOnsetJPerMm2 : 0;

  const color = job.collect.surface ? new Uint8Array(cells * 4) : null;
  const relief = job.collect.surface ? new Uint16Array(cells * 2) : null;
  const fields: StripFields | null = job.collect.fields
    ? {
        residueUm: coats.map(() => new Float32Array(cells)),
        woodDepthUm: new Float32Array(cells),
        excess: new Float32Array(cells),
      }
    : null;
  const histogram = new Uint32Array(HISTOGRAM_BINS);
  let unsound = unsoundInput;
  let pictureCells = 0;
  let lightCells = 0;
  let unclearedCells = 0;
  let scorchedCells = 0;
  let residueSumUm = 0;
  let maxDepthUm = 0;
  const left = new Float64Array(n + 1);
  const film = new Float64Array(n);
  const { rgb, knotRgb } = appearance;
  const thicknessUm = stack.thicknessUm.data;

  for (let y = 0; y < task.rows; y++) {
    for (let x = 0; x < width; x++) {
      const cell = y * width + x;
      let red = 0;
      let green = 0;
      let blue = 0;
      let passed = 0;
      let removed = 0;
      let totalUm = 0;
      for (let i = 0; i < n; i++) {
        film[i] = thicknessUm[(i * task.rows + y) * width + x];
        totalUm += film[i];
        left[i] = 0;
      }
      left[n] = 0;
      const shade = Math.min(1, Math.max(PALEST, stack.shade[cell]));
      for (let sy = 0; sy < subY; sy++) {
        const fineRow = (y * subY + sy) * fineWidth + x * subX;
        for (let sx = 0; sx < subX; sx++) {
          const depth = depthUm[fineRow + sx];
          const dose = excess[fineRow + sx];
          let layer = 0;
          let rest = depth;
          while (layer < n && rest >= film[layer]) rest -= film[layer++];
          // What is left of the layer being burned, or the depth in wood; the layers below it are whole.
          if (layer < n) rest = film[layer] - rest;
          left[layer] += rest;
          for (let i = layer + 1; i < n; i++) left[i] += film[i];
          if (color) {
            const at = appearanceIndex(appearance, layer, rest, dose);
            if (shade === 0) {
              red += rgb[at];
              green += rgb[at + 1];
              blue += rgb[at + 2];
            } else {
              red += rgb[at] + shade * (knotRgb[at] - rgb[at]);
              green += rgb[at + 1] + shade * (knotRgb[at + 1] - rgb[at + 1]);
              blue += rgb[at + 2] + shade * (knotRgb[at + 2] - rgb[at + 2]);
            }
          }
          passed += dose;
          removed += depth;
          if (depth > maxDepthUm) maxDepthUm = depth;
        }
      }
      // One value that is no number makes the sum of them none.
      if (!(Math.abs(red + green + blue + passed + removed + totalUm) < Number.POSITIVE_INFINITY)) unsound++;
      const woodUm = left[n] * perFine;
      const meanExcess = passed * perFine;
      const residue = n > 0 ? left[0] * perFine : 0;
      const aim = task.aim[cell];
      const scorch =
        n >= 2 ? Math.max(scorchLevel(scorchAbsorptance * meanExcess, scorchOnset), woodUm > 0.5 ? 1 : 0) : 0;
      let uncleared = 0;
      if (aim > 0) {
        pictureCells++;
        if (scorch >= SCORCHED_LEVEL) scorchedCells++;
      }
      if (aim === 2) {
        lightCells++;
        residueSumUm += residue;
        histogram[Math.min(HISTOGRAM_BINS - 1, Math.floor(residue / HISTOGRAM_BIN_UM))]++;
        if (residue > CLEARED_RESIDUE_UM) {
          uncleared = 255;
          unclearedCells++;
        }
      }
      if (color && relief) {
        const heightUm = stack.reliefUm[cell] + totalUm - nominalUm;
        const seen = perFine * lightInCrack(heightUm);
        color[cell * 4] = encodeSrgbByte(red * seen);
        color[cell * 4 + 1] = encodeSrgbByte(green * seen);
        color[cell * 4 + 2] = encodeSrgbByte(blue * seen);
        color[cell * 4 + 3] = job.collect.painted ? (totalUm > 0 ? 255 : 0) : uncleared;
        relief[cell * 2] = toHalfFloat(heightUm - removed * perFine);
        relief[cell * 2 + 1] = scorch > 0 ? toHalfFloat(scorch) : 0;
      }
      if (fields) {
        for (let i = 0; i < n; i++) fields.residueUm[i][cell] = left[i] * perFine;
        fields.woodDepthUm[cell] = woodUm;
        fields.excess[cell] = meanExcess;
      }
    }
  }
  return {
    y0: task.y0,
    rows: task.rows,
    backend,
    stats: { unsound, pictureCells, lightCells, unclearedCells, scorchedCells, residueSumUm, maxDepthUm, histogram },
    color,
    relief,
    fields,
  };
}
