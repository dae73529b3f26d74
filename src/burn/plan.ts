import { spotRadii, wattsAtLevel } from '../physics/beam/gaussian.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import { dwellFactor, LAYER_COLUMNS, layerTable, pulsedCrossing } from '../physics/material/layers.ts';
import { haloDots, type RowOptics } from '../physics/raster/exposure.ts';
import { faceRangeMm, usedRunUpMm } from '../physics/raster/pass-raster.ts';
import { feedOf } from '../physics/raster/pass-time.ts';
import type { Coat, Pass, Piece } from '../piece/schema.ts';
import type { Plane } from './kernel/contract.ts';
import type { FocusSteps, SwathCollect, SwathJob, SwathPass } from './swath-task.ts';

/** Rows whose distance is beyond this many 1/e² radii bring less than 0.2 % of the peak dose and are left out. */
const REACH_RADII = 1.75;
/** Parts of a row pitch in which the line profile is tabulated when a pass is not aligned with the cells; odd, so that a row's centre is the middle of a part. */
const FREE_PHASES = 51;
/** Values a dot of the exposure along a row of such a pass; between them it is linear. */
const FREE_PER_DOT = 3;

/** Fine cells of a cell and how they are staggered. */
export interface SubCells {
  readonly subX: number;
  readonly subY: number;
  /** See `burn.kernel.ts`; left out: in line. */
  readonly stride?: number;
}

/**
 * Fine cells per cell: eight, staggered so that they are eight places across the rows and eight along them, whichever way the rows of a
 * pass run; thirteen for a spot much smaller than the pitch. A lattice (k, m·k mod n)/n of two Fibonacci numbers m and n spreads most
 * evenly over the square (Niederreiter & Sloan, 1994, "Integration of nonperiodic functions of two variables by Fibonacci lattice
 * rules"; value from memory). What is left is measured in test/unit/sampling.test.ts.
 */
export function subCells(piece: Piece): SubCells {
  const [{ rowPitchMm }] = piece.passes;
  const narrowest = Math.min(...piece.passes.map((pass) => spotRadii(piece.machine.source, pass).acrossMm));
  return 3 * rowPitchMm > 8 * narrowest ? { subX: 1, subY: 13, stride: 5 } : { subX: 1, subY: 8, stride: 3 };
}

/** How many places a cell's fine cells take along x and along y. */
const placesOf = ({ subX, subY, stride = 0 }: SubCells) => ({ x: stride === 0 ? subX : subX * subY, y: subY });

/** Steps in which the focus of a warped slab is told apart. */
const FOCUS_STEPS = 12;

/** Spots over a slab that is not flat, from its lowest to its highest place; one of them for a flat one. */
function planFocus(piece: Piece, pass: Pass, widthMm: number, heightMm: number): FocusSteps {
  const { offsetXMm, offsetYMm } = piece.picture;
  const [lowMm, highMm] = faceRangeMm(piece.slab, offsetXMm, offsetYMm, widthMm, heightMm);
  const count = highMm - lowMm > 1e-6 ? FOCUS_STEPS : 1;
  const heightOf = (step: number) => (count > 1 ? lowMm + ((highMm - lowMm) * step) / (count - 1) : 0);
  const radii = Array.from({ length: count }, (_, step) => spotRadii(piece.machine.source, pass, heightOf(step)));
  return {
    lowMm,
    highMm,
    alongRadiiMm: Float64Array.from(radii, ({ alongMm }) => alongMm),
    acrossRadiiMm: Float64Array.from(radii, ({ acrossMm }) => acrossMm),
  };
}

/** Line profile `√(2/π)/w · exp(−2d²/w²)` (1/mm) at the middle of each part of a row pitch, for the rows that reach it; one block of `phases` rows per radius. */
export function lineWeights(acrossRadiiMm: ArrayLike<number>, rowPitchMm: number, phases: number): Plane {
  const widest = Math.max(...Array.from(acrossRadiiMm));
  const half = Math.max(1, Math.ceil((REACH_RADII * widest) / rowPitchMm - 0.5));
  const taps = 2 * half + 1;
  const height = phases * acrossRadiiMm.length;
  const data = new Float32Array(height * taps);
  for (let row = 0; row < height; row++) {
    const radius = acrossRadiiMm[Math.floor(row / phases)];
    for (let tap = 0; tap < taps; tap++) {
      const distance = (((row % phases) + 0.5) / phases - 0.5 + half - tap) * rowPitchMm;
      const ratio = distance / radius;
      data[row * taps + tap] = (Math.sqrt(2 / Math.PI) / radius) * Math.exp(-2 * ratio * ratio);
    }
  }
  return { width: taps, height, data };
}

/** Everything about a pass that does not depend on the picture. */
export function planPass(
  piece: Piece,
  pass: Pass,
  grid: { width: number; height: number; pitchMm: number } & SubCells,
): SwathPass {
  const { source, motion, airFlow } = piece.machine;
  const { alongMm } = spotRadii(source, pass);
  const feedMmPerS = feedOf(pass, motion);
  const wattsAt = Float64Array.from({ length: 256 }, (_, level) => wattsAtLevel(source, pass, level));
  const optics: RowOptics = {
    pitchMm: pass.rowPitchMm,
    feedMmPerS,
    alongRadiusMm: alongMm,
    riseTimeS: source.riseTimeS,
    fallTimeS: source.fallTimeS,
    accelerationMmPerS2: motion.accelerationMmPerS2,
    runUpMm: usedRunUpMm(feedMmPerS, motion),
    powerAtRamps: motion.powerAtRamps,
    // The job moves backward rows by as much the other way.
    rowOffsetErrorMm: piece.machine.control.correctRowOffset ? 0 : pass.rowOffsetErrorMm,
  };
  const sine = Math.abs(Math.sin(pass.headingRad));
  const aligned = Math.abs(pass.rowPitchMm - grid.pitchMm) < 1e-9 && (sine < 1e-9 || sine > 1 - 1e-9);
  const places = placesOf(grid);
  const phases = aligned ? (sine > 0.5 ? places.x : places.y) : FREE_PHASES;
  const perDot = aligned ? (sine > 0.5 ? places.y : places.x) : FREE_PER_DOT;
  const dwellS = (2 * alongMm) / feedMmPerS;
  const pulsed = pulsedCrossing(source, alongMm, feedMmPerS);
  const layers = layerTable(piece.stack, piece.slab.wood, dwellS, pulsed, airFlow);
  const focus = planFocus(piece, pass, grid.width * grid.pitchMm, grid.height * grid.pitchMm);
  const dwell = (radiusMm: number) => dwellFactor((2 * radiusMm) / feedMmPerS) / dwellFactor(dwellS);
  return {
    wattsAt,
    optics,
    perDot,
    phases,
    weights: lineWeights(focus.acrossRadiiMm, pass.rowPitchMm, phases),
    layers: { width: LAYER_COLUMNS, height: layers.length / LAYER_COLUMNS, data: layers },
    focus,
    coldFactors: focus.alongRadiiMm.map((radius) => (pulsed ? 1 : dwell(radius))),
    warmth: null,
  };
}

/** Rows and columns by which a window must be larger than what it covers. */
export const haloOf = (pass: SwathPass): { rows: number; columns: number } => ({
  rows: (pass.weights.width - 1) / 2,
  columns: haloDots(pass.optics),
});

/** What of a coat decides its film. */
export const filmOf = (coat: Coat) => [
  coat.dryThicknessUm,
  coat.layers,
  coat.volumeSolids,
  coat.thinnerShare,
  coat.application,
  coat.slowVariation,
  coat.fineVariation,
  coat.sandedAfter,
];

/** What wood and films depend on, for jobs that have them in common. */
const filmKeyOf = (
  { slab, stack }: Pick<Piece, 'slab' | 'stack'>,
  { width, pitchMm, originXMm, originYMm }: Pick<SwathJob, 'width' | 'pitchMm' | 'originXMm' | 'originYMm'>,
): string => JSON.stringify([[width, pitchMm, originXMm, originYMm], slab, stack.film, stack.coats.map(filmOf)]);

let lastJobId = 0;

/** The job that all swaths of a burn share. */
export function planJob(
  piece: Piece,
  appearance: AppearanceTable,
  grid: { width: number; height: number; pitchMm: number } & SubCells,
  filmSteps: SwathJob['filmSteps'],
  collect: SwathCollect,
): SwathJob {
  lastJobId += 1;
  const originXMm = piece.picture.offsetXMm - (grid.width * grid.pitchMm) / 2;
  const originYMm = piece.picture.offsetYMm - (grid.height * grid.pitchMm) / 2;
  const where = { width: grid.width, pitchMm: grid.pitchMm, originXMm, originYMm };
  return {
    id: lastJobId,
    stack: piece.stack,
    slab: piece.slab,
    appearance,
    ...where,
    subX: grid.subX,
    subY: grid.subY,
    stride: grid.stride ?? 0,
    filmKey: filmKeyOf(piece, where),
    filmSteps,
    airFlow: piece.machine.airFlow,
    passes: piece.passes.map((pass) => planPass(piece, pass, grid)),
    collect,
  };
}

/** The job of a part of what another one burns: `width` columns from cell (x0, y0) on. */
export function cutJob(job: SwathJob, x0: number, y0: number, width: number): SwathJob {
  lastJobId += 1;
  const originXMm = job.originXMm + x0 * job.pitchMm;
  const originYMm = job.originYMm + y0 * job.pitchMm;
  const where = { width, pitchMm: job.pitchMm, originXMm, originYMm };
  return { ...job, ...where, id: lastJobId, filmKey: filmKeyOf(job, where) };
}

/** The same burn with all that can be told of a cell; of rows here and there, so that no films are worth keeping. */
export function fieldsJob(job: SwathJob): SwathJob {
  lastJobId += 1;
  return { ...job, id: lastJobId, filmKey: '', collect: { surface: true, fields: true, painted: false } };
}
