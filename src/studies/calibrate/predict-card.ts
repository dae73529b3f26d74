import { type Lab, labToXyz, linearRgbToLab, REFERENCE_WHITE } from '../../base/color/lab.ts';
import {
  BAND_COUNT,
  BAND_START_NM,
  BAND_STEP_NM,
  type Spectrum,
  type Triple,
  WHITE_XYZ,
  XYZ_WEIGHTS,
} from '../../base/color/spectrum.ts';
import { burnCell } from '../../burn/kernel/burn.kernel.ts';
import { warmFactor } from '../../burn/swath.ts';
import { screenTone } from '../../image/screens/screen-tone.ts';
import { spotRadii } from '../../physics/beam/gaussian.ts';
import { heatShare } from '../../physics/heat/heat-sources.ts';
import { type AppearanceTable, appearanceIndex, buildAppearance } from '../../physics/material/appearance.ts';
import {
  coatOptics,
  filmReflectance,
  insideSpectrum,
  measuredReflectance,
} from '../../physics/material/coat-optics.ts';
import { charredWood, scorchAbsorption, scorchLevel } from '../../physics/material/layers.ts';
import { rowExposure } from '../../physics/raster/exposure.ts';
import { plainSlab } from '../../piece/defaults.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Card, CardBurn, CardPatch } from '../../vision/card/card.ts';
import { jobOf, type PatchJob, passOf, wattsOf } from './patch-job.ts';

/** Film that is thicker to one side: share more per half of the card's width and height. */
export interface FilmTilt {
  readonly x: number;
  readonly y: number;
}

/** Says what patches and lines of a card come out as, for one piece after another; what they share is made once. */
export interface CardOracle {
  patch(piece: Piece, patch: Pick<CardPatch, 'burns' | 'warmthPerShareK'>, filmFactor?: number): PatchState;
  line(piece: Piece, burn: CardBurn, filmFactor?: number): LineState;
}

/** Middle of a patch or line from the card's middle, in halves of its size: −1 … 1. */
function placeOnCard(card: Card, box: CardPatch['box']): FilmTilt {
  return {
    x: (box.xMm + box.widthMm / 2) / (card.widthMm / 2) - 1,
    y: (box.yMm + box.heightMm / 2) / (card.heightMm / 2) - 1,
  };
}

export const filmAt = (card: Card, box: CardPatch['box'], tilt: FilmTilt): number => {
  const { x, y } = placeOnCard(card, box);
  return Math.exp(tilt.x * x + tilt.y * y);
};

/**
 * @param base the piece whose colours below the top coat serve for all that are asked about.
 */
export function createCardOracle(base: Piece): CardOracle {
  let table: AppearanceTable | null = null;
  // Takes a while, and few patches ever burn through.
  const below = () => {
    table ??= buildAppearance(base.stack, base.slab.wood, base.machine.airFlow);
    return table;
  };
  let asked: { piece: Piece; plain: Piece; colors: ToneColors } | null = null;
  const about = (piece: Piece) => {
    if (asked?.piece !== piece) {
      const plain = { ...piece, slab: { ...plainSlab(piece.slab), bowMm: 0, domeMm: 0 } };
      asked = { piece, plain, colors: toneColors(plain) };
    }
    return asked;
  };
  return {
    patch(piece, { burns, warmthPerShareK }, filmFactor = 1) {
      const { plain, colors } = about(piece);
      // Fine unevenness is part of a patch's mean: three places of a normal distribution (Gauss and Hermite).
      const fine = Math.sqrt(3) * plain.stack.coats[0].fineVariation;
      const films: [number, number][] =
        fine > 0
          ? [
              [filmFactor * Math.max(0, 1 - fine), 1 / 6],
              [filmFactor, 2 / 3],
              [filmFactor * (1 + fine), 1 / 6],
            ]
          : [[filmFactor, 1]];
      const share = plain.heat.carryOver ? heatShare(plain.heat, plain.stack.coats[0]) : 0;
      return predictPatch(
        plain,
        burns,
        colors,
        below,
        films,
        warmthPerShareK.map((warmth) => share * warmth),
      );
    },
    line(piece, burn, filmFactor = 1) {
      const { plain, colors } = about(piece);
      return predictLine(plain, burn, colors, filmFactor);
    },
  };
}

/** What a lone line looks like. Widths in mm. */
interface LineState {
  /** Between the places where its lightness is half way from the paint to its middle; 0 for a line that does not show. */
  readonly edgeMm: number;
  /** Of a wholly cleared line that is as much lighter than the paint: a blurred picture does not change it. */
  readonly equivalentMm: number;
}

const PLACES = 50;

/** Half of the profile that is looked at, in radii. */
const REACH = 2;

/** A middle that is lighter than the paint by less, L*, cannot be seen. */
const LEAST_SEEN = 1;

/** One crossing over an intact film; `filmFactor` is the film's thickness over the piece's. */
function predictLine(piece: Piece, burn: CardBurn, colors: ToneColors, filmFactor = 1): LineState {
  const { acrossMm } = spotRadii(piece.machine.source, passOf(piece, burn, burn.headingRad));
  const grid = { width: 1, height: 1, pitchMm: burn.rowPitchMm, subX: 1, subY: 1 };
  const job = jobOf(piece, burn, grid, burn.headingRad);
  const stepMm = (REACH * acrossMm) / PLACES;
  const weights = Array.from({ length: PLACES }, (_, i) => {
    const ratio = ((i + 0.5) * stepMm) / acrossMm;
    return [(Math.sqrt(2 / Math.PI) / acrossMm) * Math.exp(-2 * ratio * ratio)];
  });
  const { coats } = piece.stack;
  const topUm = coats[0].dryThicknessUm * filmFactor;
  const thickness = coats.map((coat, i) => [i === 0 ? topUm : coat.dryThicknessUm]);
  const cold = job.coldFactors.length === 1 ? job.coldFactors[0] : 1;
  const ground = [[cold], [piece.slab.wood.absorptance], [1], [0]];
  const exposure = [[wattsOf(job, burn) / job.optics.feedMmPerS, 0]];
  const zeros = Array.from({ length: PLACES }, () => [0]);
  const run = (wanted: number, after: number[][]): number[][] =>
    zeros.map((_, y) => [
      burnCell.call(
        { thread: { x: 0, y, z: 0 } },
        zeros,
        zeros,
        after,
        exposure,
        weights,
        thickness,
        ground,
        job.layerRows,
        wanted,
        coats.length,
        1,
        1,
        PLACES,
        PLACES,
        1,
        (y + 0.5) / PLACES,
        0,
        0,
        0,
        0,
        0,
        0,
      ),
    ]);
  const depth = run(0, zeros);
  const excess = run(1, depth);
  const stateAt = (leftUm: number, dose: number) => {
    const xyz = new Float64Array(3);
    colors.add(Math.max(0, leftUm), dose, 1, xyz);
    return xyz;
  };
  const paint = stateAt(topUm, 0);
  const bare = stateAt(0, 0);
  const across = depth.map(([gone], i) => stateAt(topUm - gone, excess[i][0]));
  const lightness = across.map((xyz) => lightnessOf(xyz[1]));
  const from = lightnessOf(paint[1]);
  const sum = across.reduce((total, xyz) => total + (xyz[1] - paint[1]) * stepMm, 0);
  const equivalentMm = (2 * sum) / Math.max(1e-6, bare[1] - paint[1]);
  if (Math.abs(lightness[0] - from) < LEAST_SEEN) return { edgeMm: 0, equivalentMm };
  const half = (lightness[0] + from) / 2;
  const above = lightness[0] > from ? 1 : -1;
  const end = lightness.findIndex((value) => above * (value - half) < 0);
  if (end <= 0) return { edgeMm: 2 * REACH * acrossMm, equivalentMm };
  const share = (lightness[end - 1] - half) / (lightness[end - 1] - lightness[end]);
  return { edgeMm: 2 * (end - 0.5 + share) * stepMm, equivalentMm };
}

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
function labOf(xyz: ArrayLike<number>): Lab {
  const [x, y, z] = [0, 1, 2].map((k) => lightnessCube(xyz[k] / WHITE_XYZ[k]));
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** L* of a luminance, Y of white 1. */
const lightnessOf = (luminance: number): number => 116 * lightnessCube(luminance / WHITE_XYZ[1]) - 16;

const lightnessCube = (share: number): number =>
  share > 216 / 24389 ? Math.cbrt(share) : ((24389 / 27) * share + 16) / 116;

/** Columns of the matrix from linear sRGB to XYZ in the spectral tables' white, taken from the colour library once. */
const COLUMNS: readonly Triple[] = [0, 1, 2].map((k) => {
  const rgb: Triple = [k === 0 ? 1 : 0, k === 1 ? 1 : 0, k === 2 ? 1 : 0];
  const xyz = labToXyz(linearRgbToLab(rgb));
  return xyz.map((value, i) => (value * WHITE_XYZ[i]) / REFERENCE_WHITE[i]) as unknown as Triple;
});

/** XYZ of linear sRGB, relative to the white that `labOf` takes. */
const linearRgbToXyz = (red: number, green: number, blue: number): Triple =>
  [0, 1, 2].map((i) => COLUMNS[0][i] * red + COLUMNS[1][i] * green + COLUMNS[2][i] * blue) as unknown as Triple;

/** Steps over the square root of what is left of the top coat, and over the square root of the level of scorch. */
const LEFT_STEPS = 72;

const LEVEL_STEPS = 7;

/**
 * Colours of a top coat being burned, smooth in what is left and in the dose that has gone past it: the same optics as
 * `physics/material/appearance.ts` without its steps, so that a fit can follow slopes.
 */
export interface ToneColors {
  /** Adds XYZ (Y of white 1) of a state to `out`, weighted. */
  add(leftUm: number, excess: number, weight: number, out: Float64Array): void;
}

/** What was last worked out, by the numbers it depends on. */
const kept: { key: string; table: Float64Array }[] = [];

const MOST_KEPT = 24;

function toneColors(piece: Piece): ToneColors {
  const { coats } = piece.stack;
  const { wood } = piece.slab;
  const under = coats[1] ?? wood;
  const fullUm = Math.max(1, 2 * coats[0].dryThicknessUm);
  const optical = coats.map(({ colorLab, scatteringPerMm }) => [colorLab, scatteringPerMm]);
  const below = coats.slice(1).map(({ dryThicknessUm }) => dryThicknessUm);
  const key = JSON.stringify([optical, below, fullUm, wood.colorLab, wood.lightnessLoss]);
  let entry = kept.find((one) => one.key === key);
  if (!entry) {
    entry = { key, table: tabulate(piece, fullUm) };
    kept.unshift(entry);
    kept.length = Math.min(kept.length, MOST_KEPT);
  }
  const { table } = entry;
  const { absorptance, scorchOnsetJPerMm2 } = under;
  return {
    add(leftUm, excess, weight, out) {
      const level = Math.sqrt(scorchLevel(absorptance * excess, scorchOnsetJPerMm2)) * (LEVEL_STEPS - 1);
      const place = Math.sqrt(Math.min(1, leftUm / fullUm)) * (LEFT_STEPS - 1);
      const i = Math.min(LEFT_STEPS - 2, Math.floor(place));
      const j = Math.min(LEVEL_STEPS - 2, Math.floor(level));
      const u = place - i;
      const v = level - j;
      const at = 3 * (j * LEFT_STEPS + i);
      const next = at + 3 * LEFT_STEPS;
      for (let k = 0; k < 3; k++) {
        const near = table[at + k] + (table[at + 3 + k] - table[at + k]) * u;
        const far = table[next + k] + (table[next + 3 + k] - table[next + k]) * u;
        out[k] += weight * (near + (far - near) * v);
      }
    },
  };
}

function tabulate(piece: Piece, fullUm: number): Float64Array {
  const { coats } = piece.stack;
  const { wood } = piece.slab;
  const optics = coats.map(opticsOf);
  const table = new Float64Array(3 * LEFT_STEPS * LEVEL_STEPS);
  for (let j = 0; j < LEVEL_STEPS; j++) {
    const level = (j / (LEVEL_STEPS - 1)) ** 2;
    let ground: Spectrum = insideKept(
      coats.length > 1 ? wood.colorLab : charredWood(wood.colorLab, level, wood.lightnessLoss),
    );
    for (let layer = coats.length - 1; layer >= 1; layer--) {
      const over = new Float64Array(BAND_COUNT);
      for (let band = 0; band < BAND_COUNT; band++) {
        const scorch = layer === 1 ? scorchAbsorption(level, BAND_START_NM + band * BAND_STEP_NM) : 0;
        const { absorption, scattering } = optics[layer];
        over[band] = filmReflectance(
          absorption[band] + scorch,
          scattering,
          coats[layer].dryThicknessUm / 1000,
          ground[band],
        );
      }
      ground = over;
    }
    const [top] = optics;
    for (let i = 0; i < LEFT_STEPS; i++) {
      const leftMm = (fullUm * (i / (LEFT_STEPS - 1)) ** 2) / 1000;
      const at = 3 * (j * LEFT_STEPS + i);
      for (let band = 0; band < BAND_COUNT; band++) {
        const measured = measuredReflectance(
          filmReflectance(top.absorption[band], top.scattering, leftMm, ground[band]),
        );
        for (let k = 0; k < 3; k++) table[at + k] += XYZ_WEIGHTS[k][band] * measured;
      }
    }
  }
  return table;
}

/** Finding a spectrum takes a millisecond, and colours stay the same through a fit. */
const spectra = new Map<string, Spectrum>();

function insideKept(lab: Parameters<typeof insideSpectrum>[0]): Spectrum {
  const key = lab.join(' ');
  let spectrum = spectra.get(key);
  if (!spectrum) {
    if (spectra.size > 200) spectra.clear();
    spectrum = insideSpectrum(lab);
    spectra.set(key, spectrum);
  }
  return spectrum;
}

const units = new Map<string, ReturnType<typeof coatOptics>>();

/** Absorption goes with the scattering: the colour where it hides is given. */
function opticsOf({ colorLab, scatteringPerMm }: Piece['stack']['coats'][number]): ReturnType<typeof coatOptics> {
  const key = colorLab.join(' ');
  let unit = units.get(key);
  if (!unit) {
    if (units.size > 200) units.clear();
    unit = coatOptics({ colorLab, scatteringPerMm: 1 });
    units.set(key, unit);
  }
  return { scattering: scatteringPerMm, absorption: unit.absorption.map((value) => value * scatteringPerMm) };
}
