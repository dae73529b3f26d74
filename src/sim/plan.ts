import { outputPowerW, spotRadii } from '../core/beam/source.ts';
import type { AppearanceTable } from '../core/material/appearance.ts';
import { layerTable } from '../core/material/layers.ts';
import type { Coat, Pass, Piece } from '../core/piece/schema.ts';
import { haloDots, type RowOptics } from '../core/raster/exposure.ts';
import { fullRunUpMm } from '../core/raster/motion.ts';
import { feedOf } from '../core/raster/pass-time.ts';
import type { Plane } from '../kernels/contract.ts';
import type { StripCollect, StripJob, StripPassJob } from './strip-task.ts';

/** Rows whose distance is beyond this many 1/e² radii bring less than 0.2 % of the peak dose and are left out. */
const REACH_RADII = 1.75;
/** Parts of a row pitch in which the line profile is tabulated when a pass is not aligned with the cells; odd, so that a row's centre is the middle of a part. */
const FREE_PHASES = 51;

/** Fine cells per cell: at least three across each pass's rows, more for a spot much smaller than the pitch. */
export function subCells(piece: Piece): { subX: number; subY: number } {
  let subX = 1;
  let subY = 1;
  for (const pass of piece.passes) {
    const { acrossMm } = spotRadii(piece.machine.source, pass);
    const wanted = Math.ceil((3 * piece.passes[0].rowPitchMm) / acrossMm);
    const count = Math.min(9, Math.max(3, wanted + (1 - (wanted % 2))));
    if (Math.abs(Math.sin(pass.headingRad)) > Math.abs(Math.cos(pass.headingRad))) subX = Math.max(subX, count);
    else subY = Math.max(subY, count);
  }
  return { subX, subY };
}

/** Line profile `√(2/π)/w · exp(−2d²/w²)` (1/mm) at the middle of each part of a row pitch, for the rows that reach it. */
export function lineWeights(acrossRadiusMm: number, rowPitchMm: number, phases: number): Plane {
  const half = Math.max(1, Math.ceil((REACH_RADII * acrossRadiusMm) / rowPitchMm - 0.5));
  const taps = 2 * half + 1;
  const data = new Float32Array(phases * taps);
  for (let phase = 0; phase < phases; phase++) {
    for (let tap = 0; tap < taps; tap++) {
      const distance = ((phase + 0.5) / phases - 0.5 + half - tap) * rowPitchMm;
      const ratio = distance / acrossRadiusMm;
      data[phase * taps + tap] = (Math.sqrt(2 / Math.PI) / acrossRadiusMm) * Math.exp(-2 * ratio * ratio);
    }
  }
  return { width: taps, height: phases, data };
}

/** Everything about a pass that does not depend on the picture. */
export function planPass(
  piece: Piece,
  pass: Pass,
  grid: { pitchMm: number; subX: number; subY: number },
): StripPassJob {
  const { source, motion } = piece.machine;
  const { alongMm, acrossMm } = spotRadii(source, pass);
  const feedMmPerS = feedOf(pass, motion);
  const wattsAt = Float64Array.from({ length: 256 }, (_, level) =>
    outputPowerW(source, pass.darkEndPower + ((pass.lightEndPower - pass.darkEndPower) * level) / 255),
  );
  const optics: RowOptics = {
    pitchMm: pass.rowPitchMm,
    feedMmPerS,
    alongRadiusMm: alongMm,
    riseTimeS: source.riseTimeS,
    fallTimeS: source.fallTimeS,
    accelerationMmPerS2: motion.accelerationMmPerS2,
    runUpMm: Math.min(motion.runUpMm, fullRunUpMm(feedMmPerS, motion.accelerationMmPerS2)),
    powerAtRamps: motion.powerAtRamps,
    rowOffsetErrorMm: pass.rowOffsetErrorMm,
  };
  const sine = Math.abs(Math.sin(pass.headingRad));
  const aligned = Math.abs(pass.rowPitchMm - grid.pitchMm) < 1e-9 && (sine < 1e-9 || sine > 1 - 1e-9);
  const phases = aligned ? (sine > 0.5 ? grid.subX : grid.subY) : FREE_PHASES;
  const dwellS = (2 * alongMm) / feedMmPerS;
  const layers = layerTable(piece.stack, piece.slab.wood, dwellS);
  return {
    wattsAt,
    optics,
    weights: lineWeights(acrossMm, pass.rowPitchMm, phases),
    layers: { width: 3, height: layers.length / 3, data: layers },
  };
}

/** Rows and columns by which a window must be larger than what it covers. */
export const haloOf = (pass: StripPassJob): { rows: number; columns: number } => ({
  rows: (pass.weights.width - 1) / 2,
  columns: haloDots(pass.optics),
});

/** What of a coat decides its film. */
const filmOf = (coat: Coat) => [
  coat.dryThicknessUm,
  coat.layers,
  coat.volumeSolids,
  coat.thinnerShare,
  coat.application,
  coat.slowVariation,
  coat.fineVariation,
];

let lastJobId = 0;

/** The job that all strips of a burn share. */
export function planJob(
  piece: Piece,
  appearance: AppearanceTable,
  grid: { width: number; height: number; pitchMm: number; subX: number; subY: number },
  filmSteps: StripJob['filmSteps'],
  collect: StripCollect,
): StripJob {
  lastJobId += 1;
  const originXMm = piece.picture.offsetXMm - (grid.width * grid.pitchMm) / 2;
  const originYMm = piece.picture.offsetYMm - (grid.height * grid.pitchMm) / 2;
  const { shape, widthMm, heightMm } = piece.slab;
  const where = [grid.width, grid.pitchMm, originXMm, originYMm, shape, widthMm, heightMm];
  return {
    id: lastJobId,
    stack: piece.stack,
    slab: piece.slab,
    appearance,
    width: grid.width,
    pitchMm: grid.pitchMm,
    subX: grid.subX,
    subY: grid.subY,
    originXMm,
    originYMm,
    filmKey: JSON.stringify([where, piece.stack.film, piece.stack.coats.map(filmOf)]),
    filmSteps,
    passes: piece.passes.map((pass) => planPass(piece, pass, grid)),
    collect,
  };
}
