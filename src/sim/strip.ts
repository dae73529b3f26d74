import { coatRowUm } from '../core/material/laid-film.ts';
import { rowExposure } from '../core/raster/exposure.ts';
import type { BurnBackend, Plane } from '../kernels/contract.ts';
import { reduceStrip } from './reduce-strip.ts';
import type { StripJob, StripPassJob, StripResult, StripTask, StripWindow } from './strip-task.ts';

/** Burns all passes of one strip and boils the fine cells down to cells. Runs the same in a page, a worker and Node. */
export async function burnStrip(job: StripJob, task: StripTask, backend: BurnBackend): Promise<StripResult> {
  const fineWidth = job.width * job.subX;
  const fineHeight = task.rows * job.subY;
  const thickness = stripThickness(job, task);
  const coats = job.stack.coats.length;
  let depthUm: Float32Array = new Float32Array(fineWidth * fineHeight);
  let excess: Float32Array = new Float32Array(fineWidth * fineHeight);
  for (let i = 0; i < job.passes.length; i++) {
    const pass = job.passes[i];
    const exposure = windowExposure(pass, task.windows[i]);
    if (!exposure) continue;
    const output = await backend.burnPass({
      width: fineWidth,
      height: fineHeight,
      depthUm,
      excess,
      exposure,
      weights: pass.weights,
      thicknessUm: thickness,
      layers: pass.layers,
      coats,
      thicknessRows: task.rows,
      subX: job.subX,
      subY: job.subY,
      place: task.windows[i].place,
    });
    depthUm = output.depthUm;
    excess = output.excess;
  }
  return reduceStrip(job, task, depthUm, excess, thickness.data, backend.name);
}

/** Thickness planes of the film that was last used, by strip: a change of power needs none of them again. */
const keptFilm = { key: '', planes: new Map<string, Plane>(), values: 0 };
/** Values kept at most, 128 MB; beyond it films are made again. */
const MOST_KEPT_VALUES = 32_000_000;

/** Dry thickness of every coat in the strip, µm: `[coat · rows + row][column]`. Bare wood gets one row that is never read. */
function stripThickness(job: StripJob, task: StripTask): Plane {
  if (job.filmSteps) return steppedThickness(job, task, job.filmSteps);
  if (keptFilm.key !== job.filmKey) {
    keptFilm.key = job.filmKey;
    keptFilm.planes.clear();
    keptFilm.values = 0;
  }
  const strip = `${task.y0} ${task.rows}`;
  const kept = keptFilm.planes.get(strip);
  if (kept) return kept;
  const plane = laidThickness(job, task);
  if (keptFilm.values + plane.data.length <= MOST_KEPT_VALUES) {
    keptFilm.planes.set(strip, plane);
    keptFilm.values += plane.data.length;
  }
  return plane;
}

function emptyThickness(job: StripJob, task: StripTask): Plane {
  const height = Math.max(1, job.stack.coats.length * task.rows);
  return { width: job.width, height, data: new Float32Array(job.width * height) };
}

function laidThickness(job: StripJob, task: StripTask): Plane {
  const plane = emptyThickness(job, task);
  const { width, pitchMm, originXMm } = job;
  job.stack.coats.forEach((coat, i) => {
    for (let y = 0; y < task.rows; y++) {
      const at = (i * task.rows + y) * width;
      const yMm = job.originYMm + (task.y0 + y + 0.5) * pitchMm;
      const place = { originXMm, yMm, pitchMm };
      coatRowUm(coat, i, job.stack.film, job.slab, place, plane.data.subarray(at, at + width));
    }
  });
  return plane;
}

function steppedThickness(job: StripJob, task: StripTask, steps: NonNullable<StripJob['filmSteps']>): Plane {
  const plane = emptyThickness(job, task);
  job.stack.coats.forEach((coat, i) => {
    for (let y = 0; y < task.rows; y++) {
      const at = (i * task.rows + y) * job.width;
      plane.data.fill(coat.dryThicknessUm * stepShare(steps, task.y0 + y), at, at + job.width);
    }
  });
  return plane;
}

function stepShare(steps: NonNullable<StripJob['filmSteps']>, y: number): number {
  let end = 0;
  for (const step of steps) {
    end += step.rows;
    if (y < end) return step.share;
  }
  return 1;
}

/** Energy per row length of the window's rows, J/mm; null if nothing fires in it. */
function windowExposure(pass: StripPassJob, window: StripWindow): Plane | null {
  const { columns, rows } = window;
  const data = new Float32Array(columns * rows);
  const power = new Float64Array(columns);
  let any = false;
  for (let r = 0; r < rows; r++) {
    if (window.spanEnd[r] <= window.spanFirst[r]) continue;
    const base = r * columns;
    let fires = false;
    for (let c = 0; c < columns; c++) {
      const watts = window.mask[base + c] > 0 ? pass.wattsAt[window.levels[base + c]] : 0;
      power[c] = watts;
      if (watts > 0) fires = true;
    }
    if (!fires) continue;
    any = true;
    rowExposure(
      power,
      window.backwards[r] === 1,
      window.columnStart,
      window.spanFirst[r],
      window.spanEnd[r],
      pass.optics,
      data.subarray(base, base + columns),
    );
  }
  return any ? { width: columns, height: rows, data } : null;
}
