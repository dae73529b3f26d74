import { fromHalfFloat } from '../core/export/half-float.ts';
import type { ToneImage } from '../core/image/picture.ts';
import { screenTone } from '../core/image/screens/screen-tone.ts';
import { srgbDecodingTable } from '../core/image/srgb-decoding.ts';
import { adjustedLightness } from '../core/image/tone.ts';
import { type AppearanceTable, intactRgb } from '../core/material/appearance.ts';
import type { Piece, Tone } from '../core/piece/schema.ts';
import { SCORCHED_LEVEL } from '../core/quality/clearing.ts';
import { createPassRaster } from '../core/raster/pass-raster.ts';
import { findSpans } from '../core/raster/spans.ts';
import { haloOf, planJob, subCells } from './plan.ts';
import type { StripRunner } from './runner.ts';
import type { StripResult } from './strip-task.ts';
import { burnsAtLightEnd, type CellGrid, cutWindow, type ScreenedPass } from './windows.ts';

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
  runner: StripRunner,
  warmthsK: readonly number[] = [],
  options: ToneScaleOptions = TONE_SCALE_DEFAULTS,
): Promise<ToneScale> {
  const side = options.patchDots + 2 * MARGIN;
  const tones = Array.from({ length: options.tones }, (_, i) => i / (options.tones - 1));
  const width = side * options.tones;
  const height = side * options.films.length;
  const straight: Piece = { ...piece, passes: piece.passes.map((pass) => ({ ...pass, headingRad: 0 })) };
  const pitchMm = straight.passes[0].rowPitchMm;
  const grid: CellGrid = { width, height, pitchMm, ...subCells(straight) };
  const filmSteps = options.films.map((share) => ({ rows: side, share }));
  const planned = planJob(flatFace(straight), appearance, grid, filmSteps, {
    surface: true,
    fields: true,
    painted: false,
  });
  const job = {
    ...planned,
    passes: planned.passes.map((pass, i) => ({ ...pass, warmth: warmthsK[i] ?? null })),
  };

  const screened = straight.passes.map((pass, i): ScreenedPass => {
    const image = patchImage(
      tones,
      options.films.length,
      side,
      pass.tone ?? piece.picture.tone,
      pitchMm / pass.rowPitchMm,
    );
    const levels = screenTone(image, pass.screen, { serpentine: pass.serpentine });
    const raster = createPassRaster(width * pitchMm, height * pitchMm, pass.rowPitchMm, 0);
    const fires = (level: number) => job.passes[i].wattsAt[level] > 0;
    const spans = findSpans(levels, image.mask, image.width, image.height, fires, pass.rows === 'two-way');
    return { raster, levels, mask: image.mask, spans };
  });

  runner.start(job);
  const windows = screened.map((pass, i) => {
    const halo = haloOf(job.passes[i]);
    return cutWindow(pass, grid, 0, height, halo.rows, halo.columns);
  });
  const aim = Uint8Array.from({ length: width * height }, (_, i) =>
    burnsAtLightEnd(screened, grid, i % width, Math.floor(i / width)) ? 2 : 1,
  );
  const strip = await runner.run({ jobId: job.id, y0: 0, rows: height, windows, aim: aim.slice() });
  return { ...measure(strip, aim, width, side, tones, options), intact: intactRgb(appearance, piece.stack) };
}

/** Patches lie on the middle of the slab, where the focus is set. */
const flatFace = (piece: Piece): Piece => ({ ...piece, slab: { ...piece.slab, bowMm: 0, domeMm: 0 } });

/** Patches side by side, one tone a column; `scale` turns cells of the piece into dots of this pass. */
function patchImage(tones: readonly number[], bands: number, side: number, tone: Tone, scale: number): ToneImage {
  const width = Math.max(1, Math.round(tones.length * side * scale));
  const height = Math.max(1, Math.round(bands * side * scale));
  const burned = tones.map(adjustedLightness(tone));
  const row = Float32Array.from(
    { length: width },
    (_, x) => burned[Math.min(tones.length - 1, Math.floor((x + 0.5) / (side * scale)))],
  );
  const lightness = new Float32Array(width * height);
  for (let y = 0; y < height; y++) lightness.set(row, y * width);
  return { width, height, lightness, mask: new Uint8Array(width * height).fill(255) };
}

function measure(
  strip: StripResult,
  aim: Uint8Array,
  width: number,
  side: number,
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
  const color = strip.color as Uint8Array;
  const relief = strip.relief as Uint16Array;
  const residue = strip.fields?.residueUm[0];
  for (let film = 0; film < options.films.length; film++) {
    for (let tone = 0; tone < tones.length; tone++) {
      const at = film * tones.length + tone;
      let open = 0;
      for (let y = 0; y < options.patchDots; y++) {
        for (let x = 0; x < options.patchDots; x++) {
          const cell = (film * side + MARGIN + y) * width + tone * side + MARGIN + x;
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
