import { encodeSrgbByte } from '../core/color/srgb.ts';
import { toHalfFloat } from '../core/export/half-float.ts';
import { lightnessToLuminance, luminancesToLightnesses, luminanceToLightness } from '../core/image/lightness.ts';
import type { Picture } from '../core/image/picture.ts';
import { resamplePicture } from '../core/image/resample.ts';
import { createToneCurve } from '../core/image/tone.ts';
import type { AppearanceTable } from '../core/material/appearance.ts';
import { coatRowUm } from '../core/material/laid-film.ts';
import type { Piece } from '../core/piece/schema.ts';
import { LIGHT_AREA_LIGHTNESS } from '../core/quality/clearing.ts';
import { createMemo } from './memo.ts';
import { outsideMask } from './outside-mask.ts';
import { type Photo, pictureHeightMm } from './prepare.ts';
import type { StripRunner } from './runner.ts';
import { burnToneScale, type ToneScale, toneScaleAt } from './tone-scale.ts';

/** A quick look at a proof: no dots, the whole picture at screen size. Layout as in `StripResult`. */
export interface CoarseProof {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly color: Uint8Array;
  readonly relief: Uint16Array;
}

/** Longer side of the coarse proof, pixels. */
const COARSE_PIXELS = 640;

export interface CoarsePipeline {
  coarse(piece: Piece, photo: Photo, appearance: AppearanceTable, runner: StripRunner): Promise<CoarseProof>;
  scene(piece: Piece, photo: Photo): CoarseScene;
}

/** What a quick look sees before anything burns, at screen size, row-major. */
export interface CoarseScene {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** Lightness of the photo before its tone controls, 0–1, and its coverage. */
  readonly lightness: Float32Array;
  readonly alpha: Float32Array | null;
  /** Thickness of the topmost coat over its mean. */
  readonly film: Float32Array;
  /** 0 where nothing burns. */
  readonly mask: Uint8Array;
}

export const burnsAt = ({ mask, alpha }: CoarseScene, i: number): boolean =>
  mask[i] > 0 && (alpha === null || alpha[i] > 0.5);

/**
 * Predicts each place from even patches burned through the same law: the photo's tone and the film's thickness there are looked
 * up in the tone scale. Leaves out dots, the beam's smear along the rows and the unsharp mask; the full proof has them.
 */
export function createCoarsePipeline(): CoarsePipeline {
  const pictures = createMemo<{ lightness: Float32Array; alpha: Float32Array | null }>(2);
  const films = createMemo<Float32Array>(2);
  const masks = createMemo<Uint8Array>(2);
  const scales = createMemo<Promise<ToneScale>>(8);

  function scene(piece: Piece, photo: Photo): CoarseScene {
    const heightMm = pictureHeightMm(piece, photo.picture);
    const longest = Math.max(piece.picture.widthMm, heightMm);
    const pitchMm = Math.max(piece.passes[0].rowPitchMm, longest / COARSE_PIXELS);
    const width = Math.max(1, Math.round(piece.picture.widthMm / pitchMm));
    const height = Math.max(1, Math.round(heightMm / pitchMm));
    const size = { width, height, pitchMm };
    const picture = pictures(`${photo.key} ${width} ${height}`, () => coarsePicture(photo.picture, width, height));
    const film = films(
      JSON.stringify([size, piece.stack, piece.slab, piece.picture.offsetXMm, piece.picture.offsetYMm]),
      () => coarseFilm(piece, width, height, pitchMm),
    );
    const where = [size, piece.slab, piece.picture.crop, piece.picture.offsetXMm, piece.picture.offsetYMm];
    const mask = masks(JSON.stringify(where), () => outsideMask(piece, width, height, pitchMm));
    return { ...size, ...picture, film, mask };
  }

  async function coarse(
    piece: Piece,
    photo: Photo,
    appearance: AppearanceTable,
    runner: StripRunner,
  ): Promise<CoarseProof> {
    const seen = scene(piece, photo);
    const { stack, slab, machine, passes } = piece;
    const scaleKey = JSON.stringify([stack.coats, slab.wood, machine, passes, piece.picture.tone]);
    const scale = await scales(scaleKey, () => burnToneScale(piece, appearance, runner));
    const { width, height, pitchMm } = seen;
    return { width, height, pitchMm, ...paint(piece, seen, scale) };
  }
  return { coarse, scene };
}

function coarsePicture(picture: Picture, width: number, height: number) {
  const small = resamplePicture(picture, width, height);
  return { lightness: luminancesToLightnesses(small.luminance), alpha: small.alpha };
}

/** Thickness of the topmost coat over its mean. */
function coarseFilm(piece: Piece, width: number, height: number, pitchMm: number): Float32Array {
  const film = new Float32Array(width * height).fill(1);
  const coat = piece.stack.coats[0];
  if (!coat || coat.dryThicknessUm <= 0) return film;
  const { offsetXMm, offsetYMm } = piece.picture;
  for (let y = 0; y < height; y++) {
    const place = {
      originXMm: offsetXMm - (width * pitchMm) / 2,
      yMm: offsetYMm + (y + 0.5 - height / 2) * pitchMm,
      pitchMm,
    };
    const row = film.subarray(y * width, (y + 1) * width);
    coatRowUm(coat, 0, piece.stack.film, piece.slab, place, row);
    for (let i = 0; i < width; i++) row[i] /= coat.dryThicknessUm;
  }
  return film;
}

/** Steps of tone and of film thickness in the painting table. */
const TONE_STEPS = 256;
const FILM_STEPS = 48;

/** What each step of tone and film is painted with: the tone scale interpolated and encoded once. */
interface PaintTable {
  /** RGBA, alpha the share uncleared. */
  readonly color: Uint8Array;
  readonly relief: Uint16Array;
}

function paintTable(scale: ToneScale): PaintTable {
  const color = new Uint8Array(4 * TONE_STEPS * FILM_STEPS);
  const relief = new Uint16Array(2 * TONE_STEPS * FILM_STEPS);
  for (let film = 0; film < FILM_STEPS; film++) {
    for (let tone = 0; tone < TONE_STEPS; tone++) {
      const mix = toneScaleAt(scale, tone / (TONE_STEPS - 1), film / (FILM_STEPS - 1));
      const at = film * TONE_STEPS + tone;
      for (let k = 0; k < 3; k++) color[4 * at + k] = encodeSrgbByte(mix(scale.rgb, 3, k));
      color[4 * at + 3] = 255 * mix(scale.uncleared);
      relief[2 * at] = toHalfFloat(mix(scale.heightUm));
      relief[2 * at + 1] = toHalfFloat(mix(scale.scorch));
    }
  }
  return { color, relief };
}

function paint(piece: Piece, scene: CoarseScene, scale: ToneScale): { color: Uint8Array; relief: Uint16Array } {
  const { film, lightness } = scene;
  const cells = film.length;
  const color = new Uint8Array(4 * cells);
  const relief = new Uint16Array(2 * cells);
  const table = paintTable(scale);
  const lowest = scale.films[0];
  const perFilm = (FILM_STEPS - 1) / (scale.films[scale.films.length - 1] - lowest);
  const coatUm = piece.stack.coats[0]?.dryThicknessUm ?? 0;
  const lightFrom = lightThreshold(piece);
  const intact = scale.intact.map(encodeSrgbByte);
  for (let i = 0; i < cells; i++) {
    if (!burnsAt(scene, i)) {
      // Nothing burns here: the intact stack, which the darkest patch need not be.
      color[4 * i] = intact[0];
      color[4 * i + 1] = intact[1];
      color[4 * i + 2] = intact[2];
      relief[2 * i] = toHalfFloat((film[i] - 1) * coatUm);
      continue;
    }
    const tone = (lightness[i] * (TONE_STEPS - 1) + 0.5) | 0;
    const step = ((film[i] - lowest) * perFilm + 0.5) | 0;
    const at = (step < 0 ? 0 : step >= FILM_STEPS ? FILM_STEPS - 1 : step) * TONE_STEPS + tone;
    color[4 * i] = table.color[4 * at];
    color[4 * i + 1] = table.color[4 * at + 1];
    color[4 * i + 2] = table.color[4 * at + 2];
    color[4 * i + 3] = lightness[i] >= lightFrom ? table.color[4 * at + 3] : 0;
    relief[2 * i] = table.relief[2 * at];
    relief[2 * i + 1] = table.relief[2 * at + 1];
  }
  return { color, relief };
}

/** Lightness of the photo from which its tone controls bring it to a light area. */
export function lightThreshold(piece: Piece): number {
  const { tone } = piece.picture;
  const curve = createToneCurve(tone);
  const gain = 2 ** tone.exposureEv;
  for (let i = 0; i <= 256; i++) {
    const lightness = i / 256;
    const burned = curve(luminanceToLightness(Math.min(1, gain * lightnessToLuminance(lightness))));
    if (burned >= LIGHT_AREA_LIGHTNESS) return lightness;
  }
  return 2;
}
