import { encodeSrgbByte } from '../base/color/srgb.ts';
import { toHalfFloat } from '../base/half-float.ts';
import { inLanes } from '../base/in-lanes.ts';
import { breathe } from '../base/stop.ts';
import { luminancesToLightnesses } from '../image/lightness.ts';
import type { Picture } from '../image/picture.ts';
import { adjustedLightness } from '../image/tone.ts';
import { type AppearanceTable, appearanceIndex, burnDirection } from '../physics/material/appearance.ts';
import { createStackLayer } from '../physics/material/laid-stack.ts';
import { burnFrame } from '../piece/frame.ts';
import type { Piece } from '../piece/schema.ts';
import { LIGHT_AREA_LIGHTNESS } from './clearing.ts';
import { burnLettering, letterLayers } from './lettering.ts';
import { createMemo } from './memo.ts';
import { filmOf, planJob } from './plan.ts';
import {
  frameDots,
  lookOf,
  type Photo,
  pictureMask,
  placedPicture,
  repairPicture,
  sourceKey,
  sourcePicture,
} from './prepare.ts';
import type { SwathRunner } from './runner.ts';
import { soundSwath } from './swath.ts';
import type { SwathResult } from './swath-task.ts';
import {
  burnsAt,
  burnToneScale,
  type CoarseGround,
  type CoarseScene,
  type Light,
  lightOf,
  likelyWarmthK,
  TONE_SCALE_DEFAULTS,
  type ToneScale,
  toneScaleAt,
} from './tone-scale.ts';

/** A quick look at a proof: no dots, the whole picture at screen size. Layout as in `SwathResult`. */
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
  coarse(piece: Piece, photo: Photo, appearance: AppearanceTable, runner: SwathRunner): Promise<CoarseProof>;
  scene(piece: Piece, photo: Photo): CoarseScene;
  /** How warm each pass is likely to find the work, K; empty where rows start cold. */
  warmthsK(piece: Piece, photo: Photo): number[];
}

/**
 * Predicts each place from even patches burned through the same law: the photo's tone and the film's thickness there are looked
 * up in the tone scale. Leaves out dots, the beam's smear along the rows and the unsharp mask; the full proof has them.
 */
export function createCoarsePipeline(): CoarsePipeline {
  const pictures = createMemo<{ lightness: Float32Array; alpha: Float32Array | null }>(2);
  const grounds = createMemo<CoarseGround>(2);
  const masks = createMemo<Uint8Array>(2);
  const lettered = createMemo<CoarseScene>(2);
  const lights = createMemo<Light>(4);
  const scales = createMemo<Promise<ToneScale>>(8);

  function scene(piece: Piece, photo: Photo): CoarseScene {
    const { widthMm, heightMm } = burnFrame(piece, photo.picture);
    const longest = Math.max(widthMm, heightMm);
    const pitchMm = Math.max(piece.passes[0].rowPitchMm, longest / COARSE_PIXELS);
    const { width, height } = frameDots(piece, photo.picture, pitchMm);
    const size = { width, height, pitchMm };
    const picture = pictures(JSON.stringify([photo.key, size, sourceKey(piece.picture), piece.picture.repair]), () =>
      coarsePicture(piece, sourcePicture(photo, piece.picture), pitchMm),
    );
    const ground = grounds(
      JSON.stringify([size, piece.stack, piece.slab, piece.picture.offsetXMm, piece.picture.offsetYMm]),
      () => coarseGround(piece, width, height, pitchMm),
    );
    const { tone: _, ...placed } = piece.picture;
    const where = [size, piece.slab, placed];
    const mask = masks(JSON.stringify(where), () => pictureMask(piece, photo.picture, width, height, pitchMm));
    const bare = { ...size, ...picture, ground, mask };
    if (piece.picture.lettering.length === 0) return bare;
    return lettered(JSON.stringify([photo.key, where, piece.picture.tone]), () => withLettering(bare, piece, photo));
  }

  function warmthsK(piece: Piece, photo: Photo): number[] {
    if (!piece.heat.carryOver) return [];
    const seen = scene(piece, photo);
    const { tone: _, ...placed } = piece.picture;
    const where = [photo.key, seen.pitchMm, piece.slab, placed];
    return piece.passes.map((pass) => {
      // Power that follows the heat does as much everywhere as on cold work.
      if (pass.evenPower) return 0;
      const tone = pass.tone ?? piece.picture.tone;
      // A change of power asks for the same light again.
      const light = lights(JSON.stringify([where, tone]), () => lightOf(seen, tone));
      return likelyWarmthK(piece, pass, seen, light);
    });
  }

  async function coarse(
    piece: Piece,
    photo: Photo,
    appearance: AppearanceTable,
    runner: SwathRunner,
  ): Promise<CoarseProof> {
    const seen = scene(piece, photo);
    const { stack, slab, machine, passes } = piece;
    const warmths = warmthsK(piece, photo);
    const scaleKey = JSON.stringify([stack.coats, slab.wood, machine, passes, piece.picture.tone, warmths]);
    const scale = await scales(scaleKey, () => burnToneScale(piece, appearance, runner, warmths));
    const { width, height, pitchMm } = seen;
    return { width, height, pitchMm, ...paint(piece, seen, scale, appearance) };
  }
  return { coarse, scene, warmthsK };
}

function coarsePicture(piece: Piece, picture: Picture, pitchMm: number) {
  const small = repairPicture(placedPicture(piece, picture, pitchMm), piece.picture.repair, pitchMm);
  return { lightness: luminancesToLightnesses(small.luminance), alpha: small.alpha };
}

/** A scene with the piece's lettering, as lightness of the photo that its tone controls bring to the letters' tones. */
function withLettering(scene: CoarseScene, piece: Piece, photo: Photo): CoarseScene {
  const { width, height, pitchMm, alpha } = scene;
  const curve = adjustedLightness(piece.picture.tone);
  const before = (tone: number): number => {
    let [low, high] = [0, 1];
    for (let round = 0; round < 20; round++) {
      const middle = (low + high) / 2;
      if (curve(middle) < tone) low = middle;
      else high = middle;
    }
    return high;
  };
  const lightness = scene.lightness.slice();
  const mask = scene.mask.map((value, i) => (alpha && !(alpha[i] > 0.5) ? 0 : value));
  const layers = letterLayers(piece, photo.picture, width, height, pitchMm);
  const told = layers.map(({ tone, cover }) => ({ tone: before(tone), cover }));
  // What fades out does so by its mask here, whatever burning does.
  burnLettering({ width, height, lightness, mask }, told, 'lightens');
  return { ...scene, lightness, mask, alpha: null };
}

/** The slab as it lies ready, at screen size. */
function coarseGround(piece: Piece, width: number, height: number, pitchMm: number): CoarseGround {
  const { stack, slab } = piece;
  const cells = width * height;
  const ground = {
    film: new Float32Array(cells).fill(1),
    reliefUm: new Float32Array(cells),
    shade: new Float32Array(cells),
  };
  const layer = createStackLayer(slab, stack);
  const filmUm = stack.coats.map(() => new Float32Array(width));
  const density = new Float32Array(width);
  const { offsetXMm, offsetYMm } = piece.picture;
  for (let y = 0; y < height; y++) {
    const row = (values: Float32Array) => values.subarray(y * width, (y + 1) * width);
    const place = {
      originXMm: offsetXMm - (width * pitchMm) / 2,
      yMm: offsetYMm + (y + 0.5 - height / 2) * pitchMm,
      pitchMm,
    };
    layer.row(place, { filmUm, reliefUm: row(ground.reliefUm), density, shade: row(ground.shade) });
    stack.coats.forEach((coat, i) => {
      for (let x = 0; x < width; x++) ground.reliefUm[y * width + x] += filmUm[i][x] - coat.dryThicknessUm;
    });
    const topUm = stack.coats[0]?.dryThicknessUm ?? 0;
    if (topUm > 0) for (let x = 0; x < width; x++) ground.film[y * width + x] = filmUm[0][x] / topUm;
  }
  return ground;
}

/** Steps of tone and of film thickness in the painting table. */
const TONE_STEPS = 256;

const FILM_STEPS = 48;

/** What each step of tone and film is painted with: the tone scale interpolated and encoded once. */
interface PaintTable {
  /** RGBA, alpha the share uncleared. */
  readonly color: Uint8Array;
  readonly heightUm: Float32Array;
  /** Half floats. */
  readonly scorch: Uint16Array;
}

function paintTable(scale: ToneScale): PaintTable {
  const color = new Uint8Array(4 * TONE_STEPS * FILM_STEPS);
  const heightUm = new Float32Array(TONE_STEPS * FILM_STEPS);
  const scorch = new Uint16Array(TONE_STEPS * FILM_STEPS);
  for (let film = 0; film < FILM_STEPS; film++) {
    for (let tone = 0; tone < TONE_STEPS; tone++) {
      const mix = toneScaleAt(scale, tone / (TONE_STEPS - 1), film / (FILM_STEPS - 1));
      const at = film * TONE_STEPS + tone;
      for (let k = 0; k < 3; k++) color[4 * at + k] = encodeSrgbByte(mix(scale.rgb, 3, k));
      color[4 * at + 3] = 255 * mix(scale.uncleared);
      heightUm[at] = mix(scale.heightUm);
      scorch[at] = toHalfFloat(mix(scale.scorch));
    }
  }
  return { color, heightUm, scorch };
}

function paint(
  piece: Piece,
  scene: CoarseScene,
  scale: ToneScale,
  appearance: AppearanceTable,
): { color: Uint8Array; relief: Uint16Array } {
  const { lightness, mask } = scene;
  // Asked only where a picture fades out: it takes the colours' spectra.
  const fades = mask.some((cover) => cover > 0 && cover < 255);
  const darkens = fades && burnDirection(piece.stack, piece.slab.wood) === 'darkens';
  const { film, reliefUm, shade } = scene.ground;
  const cells = film.length;
  const color = new Uint8Array(4 * cells);
  const relief = new Uint16Array(2 * cells);
  const table = paintTable(scale);
  const lowest = scale.films[0];
  const perFilm = (FILM_STEPS - 1) / (scale.films[scale.films.length - 1] - lowest);
  const coats = piece.stack.coats.length;
  const coatUm = piece.stack.coats[0]?.dryThicknessUm ?? 0;
  const lightFrom = lightThreshold(piece);
  const intact = scale.intact.map(encodeSrgbByte);
  const wood = woodShades(appearance);
  const tintWood = (i: number) => {
    for (let k = 0; k < 3; k++) color[4 * i + k] *= wood.tint(shade[i], k);
  };
  for (let i = 0; i < cells; i++) {
    const bare = coats > 0 && film[i] === 0;
    if (bare || !burnsAt(scene, i)) {
      // Nothing burns here: the intact stack, which the darkest patch need not be.
      const seen = bare ? wood.color(shade[i]) : intact;
      color[4 * i] = seen[0];
      color[4 * i + 1] = seen[1];
      color[4 * i + 2] = seen[2];
      if (coats === 0) tintWood(i);
      relief[2 * i] = toHalfFloat(reliefUm[i]);
      continue;
    }
    // A picture that fades out sinks to the dark end, or on a stack that darkens to the light one.
    const cover = mask[i] / 255;
    const shown = cover === 1 ? lightness[i] : darkens ? 1 - cover * (1 - lightness[i]) : cover * lightness[i];
    const tone = (shown * (TONE_STEPS - 1) + 0.5) | 0;
    const step = ((film[i] - lowest) * perFilm + 0.5) | 0;
    const at = (step < 0 ? 0 : step >= FILM_STEPS ? FILM_STEPS - 1 : step) * TONE_STEPS + tone;
    color[4 * i] = table.color[4 * at];
    color[4 * i + 1] = table.color[4 * at + 1];
    color[4 * i + 2] = table.color[4 * at + 2];
    if (coats === 0) tintWood(i);
    color[4 * i + 3] = lightness[i] >= lightFrom ? table.color[4 * at + 3] : 0;
    // The scale's heights have the film's own difference in them already.
    relief[2 * i] = toHalfFloat(table.heightUm[at] + reliefUm[i] - (film[i] - 1) * coatUm);
    relief[2 * i + 1] = table.scorch[at];
  }
  return { color, relief };
}

/** Colour of bare wood of a shade, sRGB bytes, and that over clear wood's: what the quick look makes of grain and knots. */
function woodShades(appearance: AppearanceTable): {
  color(shade: number): number[];
  tint(shade: number, k: number): number;
} {
  const at = appearanceIndex(appearance, appearance.coats, 0, 0);
  const clear = [0, 1, 2].map((k) => appearance.rgb[at + k]);
  const knot = [0, 1, 2].map((k) => appearance.knotRgb[at + k]);
  const steps = Array.from({ length: 33 }, (_, i) => {
    const shade = (i - 8) / 16;
    return [0, 1, 2].map((k) => encodeSrgbByte(clear[k] + shade * (knot[k] - clear[k])));
  });
  const step = (shade: number) => Math.min(32, Math.max(0, (shade * 16 + 8.5) | 0));
  return {
    color: (shade) => steps[step(shade)],
    tint: (shade, k) => (shade === 0 ? 1 : Math.min(1.2, steps[step(shade)][k] / Math.max(1, steps[8][k]))),
  };
}

/** Lightness of the photo from which its tone controls bring it to a light area. */
export function lightThreshold(piece: Piece): number {
  const burned = adjustedLightness(piece.picture.tone);
  for (let i = 0; i <= 256; i++) if (burned(i / 256) >= LIGHT_AREA_LIGHTNESS) return i / 256;
  return 2;
}

/** A scene's places sorted by tone and film, because what becomes of a place depends on little else. */
const TONE_BINS = 64;

const FILM_BINS = 37;

export const SCENE_BINS = TONE_BINS * FILM_BINS;

/** Lightness of the photo in the middle of a bin, 0–1. */
export const toneOfBin = (bin: number): number => (bin % TONE_BINS) / (TONE_BINS - 1);

/** Place of a bin between the thinnest and the thickest film of a tone scale, 0–1. */
export const filmPlaceOfBin = (bin: number): number => Math.floor(bin / TONE_BINS) / (FILM_BINS - 1);

/** Bin of tone and film of each place, `film · tones + tone`; −1 where nothing burns or no coat lies. */
export function binsOf(scene: CoarseScene): Int32Array {
  const { films } = TONE_SCALE_DEFAULTS;
  const [lowest, highest] = [films[0], films[films.length - 1]];
  const { film } = scene.ground;
  const bins = new Int32Array(film.length).fill(-1);
  for (let i = 0; i < bins.length; i++) {
    if (film[i] === 0 || !burnsAt(scene, i)) continue;
    const tone = Math.round(scene.lightness[i] * (TONE_BINS - 1));
    const place = Math.min(1, Math.max(0, (film[i] - lowest) / (highest - lowest)));
    bins[i] = Math.round(place * (FILM_BINS - 1)) * TONE_BINS + tone;
  }
  return bins;
}

/** Places per bin, of those that `counts` says yes to. */
export function countBins(bins: Int32Array, counts: (place: number) => boolean = () => true): Float64Array {
  const sum = new Float64Array(SCENE_BINS);
  for (let i = 0; i < bins.length; i++) if (bins[i] >= 0 && counts(i)) sum[bins[i]]++;
  return sum;
}

/** One of a tone scale's arrays at every bin; value `k` of `stride`. */
export function inBins(scale: ToneScale, values: Float32Array, stride = 1, k = 0): Float64Array {
  return Float64Array.from({ length: SCENE_BINS }, (_, bin) =>
    toneScaleAt(scale, toneOfBin(bin), filmPlaceOfBin(bin))(values, stride, k),
  );
}

/** Mean of what is known per bin over the places counted; 0 without any. */
export function meanOver(values: ArrayLike<number>, counts: Float64Array): number {
  let sum = 0;
  let total = 0;
  for (let i = 0; i < SCENE_BINS; i++) {
    sum += counts[i] * values[i];
    total += counts[i];
  }
  return total > 0 ? sum / total : 0;
}

/** Cells along the longer side of the unburned slab, and their least size, mm. */
const LONGEST_CELLS = 1400;

const FINEST_MM = 0.2;

const SWATH_ROWS = 32;

interface GroundGrid {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
}

/** Grid of square cells over the slab's bounding box, centred on it. */
export function groundGrid({ slab }: Piece): GroundGrid {
  const pitchMm = Math.max(FINEST_MM, Math.max(slab.widthMm, slab.heightMm) / LONGEST_CELLS);
  return { width: Math.ceil(slab.widthMm / pitchMm), height: Math.ceil(slab.heightMm / pitchMm), pitchMm };
}

/** What decides how the unburned slab looks; how it answers the beam does not. */
export const groundKey = ({ slab, stack }: Piece): string =>
  JSON.stringify([slab, stack.film, stack.coats.map((coat) => [lookOf(coat), filmOf(coat)])]);

/**
 * The whole slab before anything is burned, at screen size: colour with the share that is painted as alpha, and relief.
 * Swaths come in the order in which they are done.
 * @throws Cancelled if told to stop.
 */
export async function layGround(
  piece: Piece,
  appearance: AppearanceTable,
  runner: SwathRunner,
  onSwath: (swath: SwathResult) => void,
  signal?: AbortSignal,
): Promise<void> {
  const grid = groundGrid(piece);
  const centred = { ...piece, picture: { ...piece.picture, offsetXMm: 0, offsetYMm: 0 }, passes: [] };
  const cells = { ...grid, subX: 1, subY: 1 };
  const job = {
    ...planJob(centred, appearance, cells, null, { surface: true, fields: false, painted: true }),
    filmKey: '',
  };
  runner.start(job);
  await inLanes(Math.ceil(grid.height / SWATH_ROWS), runner.lanes, async (i) => {
    await breathe(signal);
    const y0 = i * SWATH_ROWS;
    const rows = Math.min(SWATH_ROWS, grid.height - y0);
    const aim = new Uint8Array(grid.width * rows);
    onSwath(soundSwath(await runner.run({ jobId: job.id, y0, rows, windows: [], aim })));
  });
}
