import { createGenerator } from '../../src/base/random/generator.ts';
import type { BurnPassInput, RasterPlace } from '../../src/burn/kernel/contract.ts';
import { lineWeights } from '../../src/burn/plan.ts';

/**
 * Burns that all ways to burn must agree on. Pure data: a page imports this too. Doses lie on a coarse grid around the thresholds, so
 * that rounding to single precision decides no branch.
 */
export interface BurnCase {
  readonly name: string;
  readonly input: BurnPassInput;
}

const TOP = [0.93, 0.1153, 11.3];
const UNDER = [0.12, 0.11, 15];
const MIDDLE = [0.5, 0.09, 9];
const WOOD = [0.59, 0.05, 3.5];

interface Options {
  readonly seed: number;
  readonly width: number;
  readonly cellRows: number;
  readonly subX: number;
  readonly subY: number;
  readonly stride: number;
  /** [A, Eth, q] per coat, topmost first. */
  readonly coats: readonly (readonly number[])[];
  /** Mean thickness of each coat, µm; every cell lies within a quarter of it. */
  readonly coatUm: readonly number[];
  readonly rowPitchMm: number;
  /** Radius per step of focus. */
  readonly spotMm: readonly number[];
  /** c of pulsed light in µm; 0: continuous. */
  readonly pulseUm: number;
  readonly thinUm: number;
  /** g of touched skin of every coat. */
  readonly touched: number;
  /** Warm and cold places, light and heavy wood. */
  readonly uneven: boolean;
  readonly phases: number;
  readonly columns: number;
  readonly rows: number;
  /** Largest energy per row length, J/mm. */
  readonly most: number;
  readonly place: RasterPlace;
  /** State before the pass; nothing removed when left out. */
  readonly depthUm?: (thicknessUm: number, x: number, y: number) => number;
  readonly excess?: number;
}

/** Rows under the cells one to one, three parts a row, two rows of halo: what a straight pass at the cells' pitch gives. */
const ALIGNED: RasterPlace = {
  rowOrigin: 2 + 1 / 6,
  rowPerX: 0,
  rowPerY: 1 / 3,
  columnOrigin: 3,
  columnPerX: 1,
  columnPerY: 0,
};

const DEFAULTS: Options = {
  seed: 1,
  width: 37,
  cellRows: 6,
  subX: 1,
  subY: 3,
  stride: 0,
  coats: [TOP, UNDER],
  coatUm: [25, 50],
  rowPitchMm: 0.1,
  spotMm: [0.1],
  pulseUm: 0,
  thinUm: 0,
  touched: 1,
  uneven: false,
  phases: 3,
  columns: 44,
  rows: 10,
  most: 0.1,
  place: ALIGNED,
};

function burnCase(name: string, more: Partial<Options> = {}): BurnCase {
  const options: Options = { ...DEFAULTS, ...more };
  const { width, cellRows, subX, subY, coats, columns, rows } = options;
  const random = createGenerator(options.seed);
  const fineWidth = width * subX;
  const fineHeight = cellRows * subY;
  const grid = (steps: number) => Math.floor(random.nextUnit() * (steps + 1)) / steps;
  const exposure = Float32Array.from({ length: columns * rows }, () => options.most * grid(16));
  const thickness = new Float32Array(Math.max(1, coats.length * cellRows) * width);
  coats.forEach((_, i) => {
    for (let k = 0; k < cellRows * width; k++)
      thickness[i * cellRows * width + k] = options.coatUm[i] * (0.75 + 0.5 * random.nextUnit());
  });
  const depthUm = new Float32Array(fineWidth * fineHeight);
  if (options.depthUm) {
    for (let i = 0; i < depthUm.length; i++) {
      const x = i % fineWidth;
      const y = Math.floor(i / fineWidth);
      depthUm[i] = options.depthUm(thickness[Math.floor(y / subY) * width + Math.floor(x / subX)], x, y);
    }
  }
  return {
    name,
    input: {
      width: fineWidth,
      height: fineHeight,
      depthUm,
      excess: new Float32Array(fineWidth * fineHeight).fill(options.excess ?? 0),
      exposure: { width: columns, height: rows, data: exposure },
      weights: lineWeights(options.spotMm, options.rowPitchMm, options.phases),
      ground: groundOf(options, width, cellRows),
      thicknessUm: { width, height: Math.max(1, coats.length * cellRows), data: thickness },
      layers: {
        width: 6,
        height: coats.length + 1,
        data: Float32Array.from(
          [...coats, WOOD].flatMap((layer) => [
            ...layer,
            options.pulseUm,
            ...(layer === WOOD ? [0, 1] : [options.thinUm, options.touched]),
          ]),
        ),
      },
      coats: coats.length,
      thicknessRows: cellRows,
      subX,
      subY,
      stride: options.stride,
      phases: options.phases,
      place: options.place,
    },
  };
}

/** Steps that single precision tells apart, so that rounding decides no branch. */
function groundOf({ uneven, spotMm }: Options, width: number, rows: number): BurnPassInput['ground'] {
  const cells = width * rows;
  const data = new Float32Array(4 * cells);
  for (let i = 0; i < cells; i++) {
    data[i] = uneven ? 0.75 + (i % 5) / 16 : 1;
    data[cells + i] = uneven ? 0.5 + (i % 7) / 16 : WOOD[0];
    data[2 * cells + i] = uneven ? 0.875 + (i % 3) / 2 : 1;
    data[3 * cells + i] = (i * 3) % spotMm.length;
  }
  return { width, height: 4 * rows, data };
}

const turned = (headingDeg: number, rowOrigin: number, columnOrigin: number): RasterPlace => {
  const cosine = Math.cos((headingDeg * Math.PI) / 180);
  const sine = Math.sin((headingDeg * Math.PI) / 180);
  return {
    rowOrigin,
    rowPerX: sine,
    rowPerY: cosine / 3,
    columnOrigin,
    columnPerX: cosine,
    columnPerY: -sine / 3,
  };
};

export const BURN_CASES: readonly BurnCase[] = [
  burnCase('two coats, aligned, width no multiple of anything'),
  burnCase('one cell', { width: 1, cellRows: 1, columns: 8, rows: 5, seed: 2 }),
  burnCase('one row of cells', { cellRows: 1, width: 61, columns: 68, rows: 5, seed: 3 }),
  burnCase('one column of cells', { cellRows: 23, width: 1, columns: 8, rows: 27, seed: 4 }),
  burnCase('bare wood', { coats: [], coatUm: [], seed: 5 }),
  burnCase('one coat over wood', { coats: [TOP], coatUm: [25], seed: 6 }),
  burnCase('three coats', { coats: [TOP, MIDDLE, UNDER], coatUm: [12, 8, 40], most: 0.25, seed: 7 }),
  burnCase('film as thin as the threshold lets light through', { coatUm: [4, 3], seed: 8 }),
  burnCase('no film at all', { coatUm: [0, 0], seed: 9 }),
  burnCase('huge dose, down into the wood', { most: 8, seed: 10 }),
  burnCase('warm and cold places, light and heavy wood', { uneven: true, most: 4, seed: 21 }),
  burnCase('a warped slab: three spots', {
    spotMm: [0.08, 0.12, 0.2],
    rows: 16,
    place: { ...ALIGNED, rowOrigin: 5 + 1 / 6 },
    seed: 22,
  }),
  burnCase('pulsed light', { pulseUm: 3.5, uneven: true, most: 0.4, seed: 23 }),
  burnCase('pulsed light on bare wood', { pulseUm: 2, coats: [], coatUm: [], most: 0.4, seed: 24 }),
  burnCase('films that let light by', { thinUm: 5, uneven: true, most: 0.15, seed: 25 }),
  burnCase('films that let light by, pulsed', { thinUm: 2, pulseUm: 3.5, most: 0.4, seed: 26 }),
  burnCase('skin that an earlier pass has touched', {
    thinUm: 5,
    touched: 1.3,
    uneven: true,
    most: 0.15,
    seed: 27,
    depthUm: (film, x, y) => film * ((x + y) % 4) * 0.25,
  }),
  burnCase('nothing fires', { most: 0, seed: 11 }),
  burnCase('second pass on what a first one left', {
    depthUm: (um, x, y) => um * (0.4 + 0.5 * ((x * 7 + y * 3) % 11) * 0.1),
    excess: 0.03,
    most: 0.04,
    seed: 12,
  }),
  burnCase('second pass on cleared cells and into the undercoat', {
    depthUm: (um, x, y) => ((x + y) % 3 === 0 ? um : um + 2 + ((x * 5 + y) % 7)),
    excess: 0.5,
    most: 0.3,
    seed: 13,
  }),
  burnCase('columns between dots', { place: { ...ALIGNED, columnOrigin: 2.25 }, seed: 14 }),
  burnCase('rows of another pitch than the cells', {
    place: { ...ALIGNED, rowOrigin: 2.5 / 3 + 2, rowPerY: 0.27 },
    rowPitchMm: 0.12,
    phases: 51,
    seed: 15,
  }),
  burnCase('rows turned by a quarter', {
    subX: 3,
    subY: 1,
    width: 19,
    cellRows: 21,
    rows: 24,
    columns: 30,
    // Dots run up the columns of cells.
    place: {
      rowOrigin: 2 + 1 / 6,
      rowPerX: 1 / 3,
      rowPerY: 0,
      columnOrigin: 24,
      columnPerX: 0,
      columnPerY: -1,
    },
    seed: 16,
  }),
  burnCase('staggered fine cells with a place of their own in each dot', {
    subY: 8,
    stride: 3,
    phases: 8,
    columns: 8 * 44,
    place: { ...ALIGNED, rowOrigin: 2 + 1 / 16, rowPerY: 1 / 8, columnOrigin: 19.5, columnPerX: 8 },
    seed: 20,
  }),
  burnCase('staggered fine cells under rows turned by a quarter', {
    subY: 8,
    stride: 3,
    phases: 8,
    width: 19,
    cellRows: 21,
    rows: 24,
    columns: 8 * 30,
    place: { rowOrigin: 2.5, rowPerX: 1, rowPerY: 0, columnOrigin: 8 * 24, columnPerX: 0, columnPerY: -1 },
    seed: 21,
  }),
  burnCase('rows turned by 30°', {
    width: 24,
    cellRows: 20,
    rows: 40,
    columns: 48,
    phases: 51,
    place: turned(30, 4.37, 14.21),
    seed: 17,
  }),
  burnCase('three by three fine cells and a wide spot', {
    subX: 3,
    subY: 3,
    width: 15,
    rowPitchMm: 0.05,
    spotMm: [0.14],
    rows: 18,
    phases: 51,
    place: { ...ALIGNED, rowOrigin: 6.1, columnPerX: 0.32, columnOrigin: 3.04 },
    seed: 18,
  }),
  burnCase('a spot much finer than the pitch', {
    subY: 9,
    spotMm: [0.03],
    phases: 9,
    most: 0.02,
    seed: 19,
    rows: 10,
    place: { ...ALIGNED, rowOrigin: 2 + 1 / 18, rowPerY: 1 / 9 },
  }),
];
