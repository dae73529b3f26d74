import { createStackLayer, type StackLayer } from '../physics/material/laid-stack.ts';
import { rowExposure } from '../physics/raster/exposure.ts';
import { woodAbsorptanceAt } from '../physics/wood/wood-states.ts';
import type { BurnBackend, Plane, RasterPlace } from './kernel/contract.ts';
import { packExposure } from './patch-grid.ts';
import { reduceStrip } from './reduce-strip.ts';
import { countUnsound } from './sound-strip.ts';
import { passGround, windowFocus } from './strip-ground.ts';
import type { FilmSteps, StripJob, StripPassJob, StripResult, StripTask, StripWindow } from './strip-task.ts';

/** What lies ready for the burn: films `[coat · rows + row][column]` in µm and the wood under them, a value a cell. */
export interface StripStack {
  readonly thicknessUm: Plane;
  readonly reliefUm: Float32Array;
  readonly density: Float32Array;
  readonly shade: Float32Array;
  readonly woodAbsorptance: Float32Array;
}

/** Burns all passes of one strip and boils the fine cells down to cells. Runs the same in a page, a worker and Node. */
export async function burnStrip(job: StripJob, task: StripTask, backend: BurnBackend): Promise<StripResult> {
  const fineWidth = job.width * job.subX;
  const fineHeight = task.rows * job.subY;
  const stack = stackOf(job, task);
  const coats = job.stack.coats.length;
  let depthUm: Float32Array = new Float32Array(fineWidth * fineHeight);
  let excess: Float32Array = new Float32Array(fineWidth * fineHeight);
  let unsound = countUnsound(stack.thicknessUm.data) + countUnsound(stack.reliefUm) + countUnsound(stack.shade);
  for (let i = 0; i < job.passes.length; i++) {
    const pass = job.passes[i];
    const window = task.windows[i];
    const whole = windowExposure(job, task, pass, window);
    if (!whole) continue;
    const ground = passGround(job, task, pass, window, stack);
    // The kernel takes nothing where a threshold or a dose is no number, which would pass for unburned.
    unsound += countUnsound(ground.data) + countUnsound(whole.data);
    if (unsound > 0) break;
    const place = finePlace(window.place, pass.perDot);
    const burned = task.patches
      ? packExposure(whole, place, (pass.weights.width - 1) / 2, pass.perDot, task.patches)
      : { exposure: whole, place };
    const output = await backend.burnPass({
      width: fineWidth,
      height: fineHeight,
      depthUm,
      excess,
      ...burned,
      weights: pass.weights,
      thicknessUm: stack.thicknessUm,
      ground,
      layers: pass.layers,
      coats,
      thicknessRows: task.rows,
      subX: job.subX,
      subY: job.subY,
      stride: job.stride,
      phases: pass.phases,
    });
    depthUm = output.depthUm;
    excess = output.excess;
  }
  return reduceStrip(job, task, depthUm, excess, stack, backend.name, unsound);
}

/** Films and wood that were last used, by job and strip: a change of power needs none of them again. */
const kept = { films: new Map<string, Map<string, StripStack>>(), values: 0 };
/** Values kept at most, 160 MB; beyond it they are made again. */
const MOST_KEPT_VALUES = 40_000_000;
/** Films kept at most: the proof's and those of some crops. */
const MOST_KEPT_FILMS = 6;

const valuesOf = ({ thicknessUm, shade }: StripStack): number => thicknessUm.data.length + 4 * shade.length;

function stackOf(job: StripJob, task: StripTask): StripStack {
  if (job.filmSteps) return steppedStack(job, task, job.filmSteps);
  if (job.filmKey === '') return laidStack(job, task);
  const film = kept.films.get(job.filmKey) ?? new Map<string, StripStack>();
  kept.films.delete(job.filmKey);
  kept.films.set(job.filmKey, film);
  const strip = `${task.y0} ${task.rows}`;
  const found = film.get(strip);
  if (found) return found;
  const stack = laidStack(job, task);
  const values = valuesOf(stack);
  while (kept.films.size > 1 && (kept.films.size > MOST_KEPT_FILMS || kept.values + values > MOST_KEPT_VALUES)) {
    const [oldest, stacks] = kept.films.entries().next().value as [string, Map<string, StripStack>];
    kept.films.delete(oldest);
    for (const one of stacks.values()) kept.values -= valuesOf(one);
  }
  if (kept.values + values <= MOST_KEPT_VALUES) {
    film.set(strip, stack);
    kept.values += values;
  }
  return stack;
}

/** A tree is grown once for all strips of a job. */
const layers = new WeakMap<StripJob, StackLayer>();

/** Bare wood gets one row of film that is never read. */
function emptyStack(job: StripJob, task: StripTask): StripStack {
  const height = Math.max(1, job.stack.coats.length * task.rows);
  const cells = job.width * task.rows;
  return {
    thicknessUm: { width: job.width, height, data: new Float32Array(job.width * height) },
    reliefUm: new Float32Array(cells),
    density: new Float32Array(cells).fill(1),
    shade: new Float32Array(cells),
    woodAbsorptance: new Float32Array(cells).fill(job.slab.wood.absorptance),
  };
}

function laidStack(job: StripJob, task: StripTask): StripStack {
  const stack = emptyStack(job, task);
  const { width, pitchMm, originXMm } = job;
  let layer = layers.get(job);
  if (!layer) {
    layer = createStackLayer(job.slab, job.stack);
    layers.set(job, layer);
  }
  for (let y = 0; y < task.rows; y++) {
    const row = (plane: Float32Array, line = y) => plane.subarray(line * width, (line + 1) * width);
    layer.row(
      { originXMm, yMm: job.originYMm + (task.y0 + y + 0.5) * pitchMm, pitchMm },
      {
        filmUm: job.stack.coats.map((_, i) => row(stack.thicknessUm.data, i * task.rows + y)),
        reliefUm: row(stack.reliefUm),
        density: row(stack.density),
        shade: row(stack.shade),
      },
    );
  }
  const { absorptance } = job.slab.wood;
  for (let i = 0; i < stack.shade.length; i++) {
    if (stack.shade[i] !== 0) stack.woodAbsorptance[i] = woodAbsorptanceAt(absorptance, stack.shade[i]);
  }
  return stack;
}

function steppedStack(job: StripJob, task: StripTask, { along, cells, shares }: FilmSteps): StripStack {
  const stack = emptyStack(job, task);
  const { width } = job;
  job.stack.coats.forEach((coat, i) => {
    const film = stack.thicknessUm.data.subarray(i * task.rows * width, (i + 1) * task.rows * width);
    for (let k = 0; k < film.length; k++) {
      const at = along === 'x' ? k % width : task.y0 + Math.floor(k / width);
      film[k] = coat.dryThicknessUm * (shares[Math.floor(at / cells)] ?? 1);
    }
  });
  return stack;
}

/** Exposures are as wide as the next multiple: halos differ with feed and spot, and a kernel for each width would be compiled anew. */
const WIDTH_STEP = 64;

/** The place in columns of the exposure, of which a dot has several. */
const finePlace = (place: RasterPlace, perDot: number): RasterPlace => ({
  ...place,
  columnOrigin: (place.columnOrigin + 0.5) * perDot - 0.5,
  columnPerX: place.columnPerX * perDot,
  columnPerY: place.columnPerY * perDot,
});

/** Energy per row length of the window's rows, J/mm, `perDot` values a dot; null if nothing fires in it. */
function windowExposure(job: StripJob, task: StripTask, pass: StripPassJob, window: StripWindow): Plane | null {
  const { columns, rows } = window;
  const values = columns * pass.perDot;
  const width = WIDTH_STEP * Math.ceil(values / WIDTH_STEP);
  const data = new Float32Array(width * rows);
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
      data.subarray(r * width, r * width + values),
      windowFocus(job, task, pass, window, r),
    );
  }
  return any ? { width, height: rows, data } : null;
}
