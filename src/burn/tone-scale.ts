import { srgbDecodingTable } from '../base/color/srgb.ts';
import { fromHalfFloat } from '../base/half-float.ts';
import { lightnessToLuminance } from '../image/lightness.ts';
import type { ToneImage } from '../image/picture.ts';
import { screenTone } from '../image/screens/screen-tone.ts';
import { adjustedLightness } from '../image/tone.ts';
import { outputPowerW, spotRadii } from '../physics/beam/gaussian.ts';
import { heatShare, spreadLineRise, woodThermal } from '../physics/heat/heat-sources.ts';
import { type AppearanceTable, intactRgb } from '../physics/material/appearance.ts';
import {
  createPassRaster,
  findSpans,
  type PassRaster,
  type ScreenedPass,
  travelTimeS,
  usedRunUpMm,
} from '../physics/raster/pass-raster.ts';
import { feedOf } from '../physics/raster/pass-time.ts';
import { isModelMethod, type Pass, type Piece, type Tone } from '../piece/schema.ts';
import { SCORCHED_LEVEL } from './clearing.ts';
import { createMemo } from './memo.ts';
import { rasterCell } from './patch-grid.ts';
import { placeDots } from './place-dots.ts';
import { haloOf, planJob, subCells } from './plan.ts';
import { leadOf, toneOf } from './prepare.ts';
import type { SwathRunner } from './runner.ts';
import { burnsAtLightEnd, type CellGrid, cutWindow, soundSwath } from './swath.ts';
import type { FilmSteps, PatchGrid, SwathResult } from './swath-task.ts';

/** What even patches of the picture come out as, by the photo's lightness and the film's thickness. */
export interface ToneScale {
  /** Lightness of the photo before its tone controls, 0–1, rising. */
  readonly tones: readonly number[];
  /** Thickness of the film over its mean, rising. */
  readonly films: readonly number[];
  /** Per film and tone, `[film · tones + tone]`: linear sRGB of the patch, three values each. */
  readonly rgb: Float32Array;
  /** Height over the intact nominal surface in µm; share uncleared of the dots at the light end; scorch; likewise. */
  readonly heightUm: Float32Array;
  readonly uncleared: Float32Array;
  readonly scorch: Float32Array;
  /** Share of cells that count as scorched; residue of the topmost coat in dots at the light end, µm. */
  readonly scorchedShare: Float32Array;
  readonly residueUm: Float32Array;
  /** The same over all dots. */
  readonly meanResidueUm: Float32Array;
  /** Linear sRGB of the unburned stack. */
  readonly intact: readonly number[];
}

/**
 * Reads a tone scale between its patches, bilinearly: `tone` and `film` are places from 0 (its first) to 1 (its last). Gives a
 * function that reads value `k` of `stride` in any of its arrays.
 */
export function toneScaleAt(
  { tones, films }: Pick<ToneScale, 'tones' | 'films'>,
  tone: number,
  film: number,
): (values: Float32Array, stride?: number, k?: number) => number {
  const along = tone * (tones.length - 1);
  const across = film * (films.length - 1);
  const t = Math.min(tones.length - 2, Math.floor(along));
  const f = Math.min(films.length - 2, Math.floor(across));
  const ft = along - t;
  const ff = across - f;
  const a = f * tones.length + t;
  const b = a + tones.length;
  return (values, stride = 1, k = 0) =>
    (1 - ff) * ((1 - ft) * values[stride * a + k] + ft * values[stride * (a + 1) + k]) +
    ff * ((1 - ft) * values[stride * b + k] + ft * values[stride * (b + 1) + k]);
}

export interface ToneScaleOptions {
  readonly tones: number;
  readonly films: readonly number[];
  /** Dots along the side of a patch that are measured. */
  readonly patchDots: number;
}

export const TONE_SCALE_DEFAULTS: ToneScaleOptions = {
  tones: 17,
  films: [0.7, 0.85, 1, 1.15, 1.3],
  patchDots: 10,
};

/** Dots around each patch that are burned but not measured, so that neighbours and the screen's start do not count. */
const MARGIN = 3;

/**
 * Burns small even patches through the same law and screens as a proof and measures them. All passes run straight: heading makes
 * no difference to an even patch but for the screen's own direction. `warmthsK`: how warm each pass finds the work; cold where left out.
 */
export async function burnToneScale(
  piece: Piece,
  appearance: AppearanceTable,
  runner: SwathRunner,
  warmthsK: readonly number[] = [],
  options: ToneScaleOptions = TONE_SCALE_DEFAULTS,
): Promise<ToneScale> {
  const tones = Array.from({ length: options.tones }, (_, i) => i / (options.tones - 1));
  const { films, patchDots } = options;
  const patches: PatchGrid = { dots: patchDots, margin: MARGIN, across: tones.length, down: films.length };
  const side = patchDots + 2 * MARGIN;
  const straight: Piece = { ...piece, passes: piece.passes.map((pass) => ({ ...pass, headingRad: 0 })) };
  const pitchMm = straight.passes[0].rowPitchMm;
  const width = side * tones.length;
  const height = side * films.length;
  const grid: CellGrid = { width, height, pitchMm, ...subCells(straight) };
  // Where every pass has a dot for each cell, margins need not be burned.
  const packed = straight.passes.every((pass) => Math.abs(pass.rowPitchMm - pitchMm) < 1e-9);
  const burned = packed ? { ...grid, width: patchDots * tones.length * films.length, height: patchDots } : grid;
  const filmSteps: FilmSteps = packed
    ? { along: 'x', cells: patchDots * tones.length, shares: films }
    : { along: 'y', cells: side, shares: films };
  const planned = planJob(flatFace(straight), appearance, burned, filmSteps, COLLECT);
  const job = {
    ...planned,
    passes: planned.passes.map((pass, i) => ({ ...pass, warmth: warmthsK[i] ?? null })),
  };

  const screened = straight.passes.map((pass, i): ScreenedPass => {
    const raster = createPassRaster(width * pitchMm, height * pitchMm, pass.rowPitchMm, 0);
    const dots = isModelMethod(pass.screen)
      ? placedPatches(tones, films.length, side, straight, pass, raster, appearance, warmthsK)
      : screenedPatches(tones, films.length, side, pass, pass.tone ?? piece.picture.tone, pitchMm);
    const fires = (level: number) => job.passes[i].wattsAt[level] > 0;
    const spans = findSpans(dots.levels, dots.mask, dots.width, dots.height, fires, pass.rows === 'two-way');
    return { raster, levels: dots.levels, mask: dots.mask, spans };
  });

  runner.start(job);
  const windows = screened.map((pass, i) => {
    const halo = haloOf(job.passes[i]);
    return cutWindow(pass, grid, 0, height, halo.rows, halo.columns);
  });
  const aim = new Uint8Array(burned.width * burned.height);
  for (let i = 0; i < aim.length; i++) {
    const [x, y] = [i % burned.width, Math.floor(i / burned.width)];
    const at = packed ? rasterCell(patches, x, y) : { x, y };
    aim[i] = burnsAtLightEnd(screened, grid, at.x, at.y) ? 2 : 1;
  }
  const task = { jobId: job.id, y0: 0, rows: burned.height, windows, aim: aim.slice() };
  const swath = soundSwath(await runner.run(packed ? { ...task, patches } : task));
  // The first cell of a patch; the others follow along rows of the swath.
  const cornerOf = (film: number, tone: number): number =>
    packed ? (film * tones.length + tone) * patchDots : (film * side + MARGIN) * width + tone * side + MARGIN;
  return { ...measure(swath, aim, burned.width, cornerOf, tones, options), intact: intactRgb(appearance, piece.stack) };
}

const COLLECT = { surface: true, fields: true, painted: false };

/** Patches lie on the middle of the slab, where the focus is set. */
const flatFace = (piece: Piece): Piece => ({ ...piece, slab: { ...piece.slab, bowMm: 0, domeMm: 0 } });

interface ScreenedPatches extends ToneImage {
  readonly levels: Uint8Array;
}

const screens = createMemo<ScreenedPatches>(12);

/** Patches side by side, one tone a column, screened; kept, since a search burns the same ones with many settings. */
function screenedPatches(
  tones: readonly number[],
  bands: number,
  side: number,
  { screen, serpentine, rowPitchMm }: Pass,
  tone: Tone,
  pitchMm: number,
): ScreenedPatches {
  const burned = tones.map(adjustedLightness(tone));
  const scale = pitchMm / rowPitchMm;
  return screens(JSON.stringify([burned, bands, side, scale, screen, serpentine]), () => {
    const image = patchImage(burned, bands, side, scale);
    return { ...image, levels: screenTone(image, screen, { serpentine }) };
  });
}

/** The same placed by the burn, in one sweep: a search moves dots, but keeps what they add up to. */
function placedPatches(
  tones: readonly number[],
  bands: number,
  side: number,
  piece: Piece,
  pass: Pass,
  raster: PassRaster,
  appearance: AppearanceTable,
  warmthsK: readonly number[],
): ScreenedPatches {
  const burned = tones.map(adjustedLightness(toneOf(piece, pass)));
  const image = patchImage(burned, bands, side, piece.passes[0].rowPitchMm / pass.rowPitchMm);
  const lead = leadOf(piece, pass);
  const warmK = warmthsK[piece.passes.indexOf(lead)] ?? 0;
  return { ...image, levels: placeDots(piece, lead, image, raster, appearance, warmK).levels };
}

/** `burned`: prepared lightness of each tone; `scale` turns cells of the piece into dots of this pass. */
function patchImage(burned: readonly number[], bands: number, side: number, scale: number): ToneImage {
  const width = Math.max(1, Math.round(burned.length * side * scale));
  const height = Math.max(1, Math.round(bands * side * scale));
  const row = Float32Array.from(
    { length: width },
    (_, x) => burned[Math.min(burned.length - 1, Math.floor((x + 0.5) / (side * scale)))],
  );
  const lightness = new Float32Array(width * height);
  for (let y = 0; y < height; y++) lightness.set(row, y * width);
  return { width, height, lightness, mask: new Uint8Array(width * height).fill(255) };
}

function measure(
  swath: SwathResult,
  aim: Uint8Array,
  width: number,
  cornerOf: (film: number, tone: number) => number,
  tones: readonly number[],
  options: ToneScaleOptions,
): Omit<ToneScale, 'intact'> {
  const count = tones.length * options.films.length;
  const scale = {
    tones,
    films: options.films,
    rgb: new Float32Array(3 * count),
    heightUm: new Float32Array(count),
    uncleared: new Float32Array(count),
    scorch: new Float32Array(count),
    scorchedShare: new Float32Array(count),
    residueUm: new Float32Array(count),
    meanResidueUm: new Float32Array(count),
  };
  const cells = options.patchDots * options.patchDots;
  const linear = srgbDecodingTable(8);
  const color = swath.color as Uint8Array;
  const relief = swath.relief as Uint16Array;
  const residue = swath.fields?.residueUm[0];
  for (let film = 0; film < options.films.length; film++) {
    for (let tone = 0; tone < tones.length; tone++) {
      const at = film * tones.length + tone;
      const corner = cornerOf(film, tone);
      let open = 0;
      for (let y = 0; y < options.patchDots; y++) {
        for (let x = 0; x < options.patchDots; x++) {
          const cell = corner + y * width + x;
          for (let k = 0; k < 3; k++) scale.rgb[3 * at + k] += linear[color[4 * cell + k]] / cells;
          scale.heightUm[at] += fromHalfFloat(relief[2 * cell]) / cells;
          const scorch = fromHalfFloat(relief[2 * cell + 1]);
          scale.scorch[at] += scorch / cells;
          if (scorch >= SCORCHED_LEVEL) scale.scorchedShare[at] += 1 / cells;
          scale.meanResidueUm[at] += (residue?.[cell] ?? 0) / cells;
          if (aim[cell] !== 2) continue;
          open++;
          scale.residueUm[at] += residue?.[cell] ?? 0;
          if (color[4 * cell + 3] > 0) scale.uncleared[at]++;
        }
      }
      if (open > 0) {
        scale.uncleared[at] /= open;
        scale.residueUm[at] /= open;
      }
    }
  }
  return scale;
}

/** Rows that count one by one; older ones in tens. */
const NEAR_ROWS = 40;

/** What of a scene burns: places, and their mean luminance once the tones are set, 0–1. */
export interface Light {
  readonly covered: number;
  readonly share: number;
}

export function lightOf(scene: Pick<CoarseScene, 'lightness' | 'mask' | 'alpha'>, tone: Tone): Light {
  const { lightness, mask } = scene;
  const curve = adjustedLightness(tone);
  let covered = 0;
  let open = 0;
  for (let i = 0; i < mask.length; i++) {
    if (!burnsAt(scene, i)) continue;
    covered++;
    if (i % 7 === 0) open += lightnessToLuminance(curve(lightness[i]));
  }
  return { covered, share: covered > 0 ? Math.min(1, (7 * open) / covered) : 0 };
}

/**
 * How warm a pass is likely to find the work on average, K: the row sources of `warmth.ts` for a picture that is the same all over, seen
 * from a row in its middle. For the quick look; the proof works it out place by place.
 */
export function likelyWarmthK(
  piece: Piece,
  pass: Pass,
  scene: Pick<CoarseScene, 'width' | 'height' | 'pitchMm' | 'mask'>,
  { covered, share }: Light,
): number {
  if (covered === 0) return 0;
  const { machine, slab, stack, heat } = piece;
  const { maxFeedMmPerS, accelerationMmPerS2 } = machine.motion;
  const ground = woodThermal(slab.wood.densityKgPerM3);
  const top = stack.coats[0] ?? slab.wood;
  const lightW = outputPowerW(machine.source, pass.lightEndPower);
  const darkW = outputPowerW(machine.source, pass.darkEndPower);
  const feed = feedOf(pass, machine.motion);
  const watts = darkW + (lightW - darkW) * share;
  const heatJPerMm = (heatShare(heat, top) * top.absorptance * watts) / feed;
  const rowMm = (covered / scene.mask.length) * scene.width * scene.pitchMm;
  const lengthMm = rowMm + 2 * usedRunUpMm(feed, machine.motion);
  const backS = travelTimeS(pass.rows === 'one-way' ? lengthMm : pass.rowPitchMm, maxFeedMmPerS, accelerationMmPerS2);
  const periodS = travelTimeS(lengthMm, feed, accelerationMmPerS2) + backS;
  const rows = Math.floor((0.5 * scene.height * scene.pitchMm) / pass.rowPitchMm);
  const { acrossMm } = spotRadii(machine.source, pass);
  let sum = 0;
  let step = 1;
  for (let n = 1; n <= rows; n += step) {
    step = n < NEAR_ROWS ? 1 : 10;
    const at = n + (step - 1) / 2;
    const rise = spreadLineRise(ground, heatJPerMm, acrossMm, at * pass.rowPitchMm, 0, at * periodS);
    sum += step * rise * edgeShare(rowMm, Math.sqrt(2 * ground.diffusivityMm2PerS * at * periodS));
  }
  return Math.round(4 * sum) / 4;
}

/** Mean over a row of the heat that has not yet spread past its ends: about 1 − 0.8·σ / length. */
const edgeShare = (lengthMm: number, sigmaMm: number): number => Math.max(0.2, 1 - (0.8 * sigmaMm) / lengthMm);

export interface CoarseGround {
  /** Thickness of the topmost coat over its mean. */
  readonly film: Float32Array;
  /** Height of the unburned surface over the nominal one, µm, and shade of the wood (see `physics/material/laid-stack.ts`). */
  readonly reliefUm: Float32Array;
  readonly shade: Float32Array;
}

/** What a quick look sees before anything burns, at screen size, row-major. */
export interface CoarseScene {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** Lightness of the photo before its tone controls, 0–1, and its coverage. */
  readonly lightness: Float32Array;
  readonly alpha: Float32Array | null;
  readonly ground: CoarseGround;
  /** 0 where nothing burns. */
  readonly mask: Uint8Array;
}

export const burnsAt = ({ mask, alpha }: Pick<CoarseScene, 'mask' | 'alpha'>, i: number): boolean =>
  mask[i] > 0 && (alpha === null || alpha[i] > 0.5);
