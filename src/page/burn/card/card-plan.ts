import type { SwathWork } from '../../../burn/runner.ts';
import { finePlace, focusStep, reachOf, warmFactor } from '../../../burn/swath.ts';
import type { SwathPass } from '../../../burn/swath-task.ts';
import type { WarmthMap } from '../../../physics/heat/warmth.ts';
import { partWeights, rampFactors } from '../../../physics/raster/exposure.ts';
import { stackOf } from '../../../render/slab/surface/planes.ts';

/** Coats and passes that one shader holds: films lie in a register of four, passes in uniforms. */
const MOST_COATS = 4;
const MOST_PASSES = 8;
/** Values a dot of the exposure: four targets of four. */
const MOST_PARTS = 16;
/** Cells whose ground a card may be asked to keep: about 1 GB. */
const MOST_CELLS = 24_000_000;
/** Dots a late source may look back: each dot goes that way by itself. */
const MOST_BACK = 128;

/** Whether this is a picture as it comes out, and not a part of one, patches, steps of film or the unburned ground. */
export function isPicture({ job, grid }: SwathWork): boolean {
  const whole = (grid.firstX ?? 0) === 0 && (grid.firstY ?? 0) === 0;
  return (
    whole && job.passes.length > 0 && !job.filmSteps && !job.squares && !job.collect.painted && !job.collect.fields
  );
}

/**
 * Whether a card burns this whose textures have so many texels a side; what it does not take goes to the pool. Rows must run along the cells' rows: a band of cells then needs a band
 * of each raster. What is no picture is small, and would push the picture out of the card.
 */
export function cardTakes(work: SwathWork, mostTexels: number): boolean {
  const { job, grid, screened } = work;
  const sides = [stackOf(grid), ...screened.map(({ raster }) => ({ width: raster.columns, height: raster.rows }))];
  const fits =
    grid.width * grid.height <= MOST_CELLS && sides.every(({ width, height }) => Math.max(width, height) <= mostTexels);
  const few = job.stack.coats.length <= MOST_COATS && job.passes.length <= MOST_PASSES;
  return (
    isPicture(work) &&
    fits &&
    few &&
    job.passes.every((pass, i) => {
      const { place } = reachOf(screened[i].raster, grid, 0, 1);
      const heat = pass.warmth === null || typeof pass.warmth === 'number' || 'olderK' in pass.warmth;
      const along = place.rowPerX === 0 && place.columnPerY === 0;
      return heat && along && pass.perDot <= MOST_PARTS && lagOf(pass).back <= MOST_BACK;
    })
  );
}

/** Rows of values, as a texture takes them. */
export interface Table<Values = Float32Array> {
  readonly width: number;
  readonly height: number;
  readonly data: Values;
}

/** One pass as the card burns it. */
export interface CardPass {
  readonly perDot: number;
  /** Quads of parts of a dot. */
  readonly quads: number;
  readonly phases: number;
  readonly taps: number;
  /** First row of its weights among those of all passes. */
  readonly weightsRow: number;
  readonly rowPerY: number;
  readonly columnPerX: number;
  /** First dot that a place of a cell falls on, and how many there are. */
  readonly firstDot: number;
  readonly dots: number;
  readonly mixed: boolean;
  /** Factor on all thresholds. */
  readonly cold: number;
  readonly warmth: WarmthMap | null;
  readonly late: boolean;
  readonly back: number;
  readonly left: readonly [number, number];
  readonly perFeed: number;
  /** RGBA: weights of four parts at places `2 · half + 1`, by kind, direction, step of focus and quad. */
  readonly along: Table;
  readonly half: number;
  readonly ramps: Float64Array;
  /** Raster rows that places of cells `y0 … y0 + rows` fall on, and those within reach of the beam: first and one past the last. */
  rows(y0: number, rows: number): readonly [number, number];
}

/** All that changes with power, feed and focus; small. */
export interface CardPlan {
  readonly passes: readonly CardPass[];
  readonly steps: number;
  readonly quads: number;
  readonly watts: Table;
  readonly ramps: Table;
  readonly weights: Table;
  readonly layers: Table;
  /** RG: where the rows (even lines) and columns (odd lines) of cells lie in each pass: a whole number and the rest. */
  readonly places: Table;
  readonly coldFactors: Float32Array;
}

export function planCard(work: SwathWork): CardPlan {
  const { job } = work;
  let weightsRow = 0;
  const passes = job.passes.map((pass, i) => {
    const planned = planPass(work, pass, i, weightsRow);
    weightsRow += pass.weights.height;
    return planned;
  });
  const steps = Math.max(...job.passes.map(({ focus }) => focus.alongRadiiMm.length));
  return {
    passes,
    steps,
    quads: Math.max(...passes.map(({ quads }) => quads)),
    watts: tableOf(job.passes.map(({ wattsAt }) => wattsAt)),
    ramps: tableOf(passes.map(({ ramps }) => ramps)),
    weights: tableOf(job.passes.flatMap(({ weights }) => linesOf(weights))),
    layers: tableOf(job.passes.flatMap(({ layers }) => linesOf(layers))),
    places: placesOf(work, passes),
    coldFactors: tableOf(
      job.passes.map(({ coldFactors }) => coldFactors),
      steps,
    ).data,
  };
}

function planPass(work: SwathWork, pass: SwathPass, index: number, weightsRow: number): CardPass {
  const { grid, screened } = work;
  const { raster } = screened[index];
  const { place, columnLow, columnHigh } = reachOf(raster, grid, 0, grid.height);
  const { perDot, optics, warmth, weights } = pass;
  const quads = Math.ceil(perDot / 4);
  const reach = (weights.width - 1) / 2;
  return {
    perDot,
    quads,
    phases: pass.phases,
    taps: weights.width,
    weightsRow,
    rowPerY: place.rowPerY,
    columnPerX: finePlace(place, perDot).columnPerX,
    firstDot: columnLow,
    dots: columnHigh + 2 - columnLow,
    // As `addWarmth` has it.
    mixed: Math.abs(place.rowPerY) * grid.subY > 1.5,
    cold: typeof warmth === 'number' ? warmFactor(warmth) : 1,
    warmth: warmth !== null && typeof warmth !== 'number' && 'olderK' in warmth ? warmth : null,
    ...lagOf(pass),
    perFeed: 1 / optics.feedMmPerS,
    ...alongOf(pass, quads),
    ramps: rampFactors(optics, raster.columns),
    rows(y0, rows) {
      const { rowLow, rowHigh } = reachOf(raster, grid, y0, rows);
      return [rowLow - reach, rowHigh + reach + 1];
    },
  };
}

/** What was as many time constants ago is nothing in single precision. */
const GONE = 17;

function lagOf({ optics }: SwathPass): Pick<CardPass, 'late' | 'back' | 'left'> {
  const { riseTimeS, fallTimeS, pitchMm, feedMmPerS } = optics;
  const dotTimeS = pitchMm / feedMmPerS;
  const slowestS = Math.max(riseTimeS, fallTimeS);
  const leftOf = (timeS: number) => (timeS > 0 ? Math.exp(-dotTimeS / timeS) : 0);
  return {
    late: slowestS > 0,
    back: slowestS > 0 ? Math.ceil((GONE * slowestS) / dotTimeS) : 0,
    left: [leftOf(riseTimeS), leftOf(fallTimeS)],
  };
}

function alongOf({ focus, optics, perDot }: SwathPass, quads: number): Pick<CardPass, 'along' | 'half'> {
  const steps = focus.alongRadiiMm.length;
  const kinds = ['box', 'rise', 'fall'] as const;
  const all = kinds.map((kind) =>
    [false, true].map((backwards) =>
      Array.from({ length: steps * perDot }, (_, i) => {
        // A flat slab's spot is the one that the optics name.
        const radius = steps > 1 ? focus.alongRadiiMm[Math.floor(i / perDot)] : optics.alongRadiusMm;
        return partWeights(radius, optics, backwards, i % perDot, perDot)[kind];
      }),
    ),
  );
  const half = (Math.max(...all.flat(2).map(({ length }) => length)) - 1) / 2;
  const width = 2 * half + 1;
  const data = new Float32Array(4 * width * kinds.length * 2 * steps * quads);
  for (const [kind, directions] of all.entries()) {
    for (const [direction, weights] of directions.entries()) {
      for (const [i, line] of weights.entries()) {
        const part = i % perDot;
        const row = ((kind * 2 + direction) * steps + Math.floor(i / perDot)) * quads + (part >> 2);
        const first = half - (line.length - 1) / 2;
        line.forEach((weight, k) => {
          data[4 * (row * width + first + k) + (part & 3)] = weight;
        });
      }
    }
  }
  return { along: { width, height: data.length / (4 * width), data }, half };
}

/** Whole numbers and rests are parted here, where there is double precision for it. */
function placesOf({ grid, screened }: SwathWork, passes: readonly CardPass[]): Table {
  const width = Math.max(grid.width, grid.height);
  const data = new Float32Array(2 * width * 2 * passes.length);
  passes.forEach(({ perDot, firstDot, rowPerY, columnPerX }, i) => {
    const { place } = reachOf(screened[i].raster, grid, 0, grid.height);
    const { columnOrigin } = finePlace(place, perDot);
    const put = (line: number, count: number, origin: number, perCell: number) => {
      for (let k = 0; k < count; k++) {
        const at = origin + perCell * k;
        const whole = Math.floor(at);
        data.set([whole, at - whole], 2 * (line * width + k));
      }
    };
    put(2 * i, grid.height, place.rowOrigin, rowPerY * grid.subY);
    put(2 * i + 1, grid.width, columnOrigin - firstDot * perDot, columnPerX * grid.subX);
  });
  return { width, height: 2 * passes.length, data };
}

const linesOf = ({ width, height, data }: Table): Float32Array[] =>
  Array.from({ length: height }, (_, y) => data.subarray(y * width, (y + 1) * width));

/** Lines of values under one another, filled up with zeros. */
function tableOf(
  lines: readonly ArrayLike<number>[],
  width = Math.max(1, ...lines.map(({ length }) => length)),
): Table {
  const data = new Float32Array(width * lines.length);
  for (const [y, line] of lines.entries()) data.set(line, y * width);
  return { width, height: lines.length, data };
}

/** Steps of focus of a pass's dots that cells and beam reach, `half` dots before `firstDot` on; by raster row. */
export function dotSteps(work: SwathWork, index: number, { firstDot, dots, half }: CardPass): Table<Uint8Array> {
  const { job, grid, screened } = work;
  const { raster } = screened[index];
  const { place } = reachOf(raster, grid, 0, grid.height);
  const width = dots + 2 * half;
  const data = new Uint8Array(width * raster.rows);
  for (let row = 0; row < raster.rows; row++) {
    const cellY = ((row + 0.5 - place.rowOrigin) / place.rowPerY + 0.5) / job.subY;
    for (let k = 0; k < width; k++) {
      const cellX = ((firstDot - half + k - place.columnOrigin) / place.columnPerX + 0.5) / job.subX;
      data[row * width + k] = focusStep(job, job.passes[index], cellX, cellY);
    }
  }
  return { width, height: raster.rows, data };
}
