import { luminanceOf, srgbDecodingTable } from '../../base/color/srgb.ts';
import { fromHalfFloat } from '../../base/half-float.ts';
import { LIGHT_AREA_LIGHTNESS, SCORCHED_LEVEL } from '../../burn/clearing.ts';
import { createMemo } from '../../burn/memo.ts';
import { rasterCell } from '../../burn/patch-grid.ts';
import { haloOf, planJob, subCells } from '../../burn/plan.ts';
import type { ReadyPicture } from '../../burn/ready-picture.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { burnsAtLightEnd, type CellGrid, cutWindow, warmthAt } from '../../burn/swath.ts';
import type { PatchGrid, Squares, SwathResult } from '../../burn/swath-task.ts';
import { type Light, lightOf, likelyWarmthK } from '../../burn/tone-scale.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import type { ToneImage } from '../../image/picture.ts';
import { screenTone } from '../../image/screens/screen-tone.ts';
import { createFilmAt } from '../../physics/film/laid-film.ts';
import type { WarmthMap, WarmthSteps } from '../../physics/heat/warmth.ts';
import { createPassRaster, type ScreenedPass } from '../../physics/raster/pass-raster.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece } from '../../piece/schema.ts';

/** What one square came out as; means over its cells. Colours in linear sRGB. */
export interface BurnedSquare {
  /** Mean prepared lightness, 0–1. */
  readonly tone: number;
  readonly cells: number;
  readonly rgb: readonly [number, number, number];
  readonly scorched: number;
  /** Cells of light areas that are burned at the light end; of those uncleared; sum of their residues, µm. */
  readonly open: number;
  readonly uncleared: number;
  readonly residueUm: number;
}

/**
 * Small squares of a piece's own picture that are burned instead of all of it: its dots, its edges, the warmth of their places, and for
 * each the film that lies there.
 */
export interface Sample {
  readonly layout: Layout;
  readonly tone: ToneImage;
  /**
   * Burns the squares on a piece that differs from the sample's in its numbers or in its powers; dots, tones and passes must be those of
   * the sample. `films`: thickness of the topmost coat over its mean, a value a square; the piece's own where left out.
   */
  burn(piece: Piece, films?: readonly number[]): Promise<BurnedSquare[]>;
}

const COLLECT = { surface: true, fields: true, painted: false };

/** Cells round a square that are burned but not measured at least, and at most. */
const LEAST_MARGIN = 4;

const MOST_MARGIN = 24;

export function createSample(piece: Piece, ready: ReadyPicture, runner: SwathRunner, tiles = SAMPLE_TILES): Sample {
  const { tone, appearance } = ready;
  const pitchMm = piece.passes[0].rowPitchMm;
  const straight = straightened(piece);
  const dots = Math.max(1, Math.min(SAMPLE_DOTS, tone.width, tone.height));
  const sub = subCells(straight);
  const halos = planJob(straight, appearance, { width: 1, height: 1, pitchMm, ...sub }, null, COLLECT).passes.map(
    haloOf,
  );
  const reach = Math.max(...halos.flatMap(({ rows, columns }) => [rows, columns]));
  // Even, so that rows run in the squares as they do in the picture.
  const margin = 2 * Math.ceil(Math.min(MOST_MARGIN, Math.max(LEAST_MARGIN, reach)) / 2);
  const layout: Layout = { places: told(tone).places(dots, tiles), dots, margin };
  const side = sideOf(layout);
  const count = layout.places.length;
  const collage = collageOf(tone, layout);
  const screened = piece.passes.map((pass, i) =>
    screenedCollage(ready.screened[i], pass, tone, collage, pitchMm, layout),
  );
  const packed = straight.passes.every((pass) => Math.abs(pass.rowPitchMm - pitchMm) < 1e-9);
  const patches: PatchGrid = { dots, margin, across: count, down: 1 };
  const grid: CellGrid = { width: side * count, height: side, pitchMm, ...sub };
  const burned = packed ? { ...grid, width: dots * count, height: dots } : grid;
  const step = packed ? dots : side;
  const aim = new Uint8Array(burned.width * burned.height);
  for (let i = 0; i < aim.length; i++) {
    const [x, y] = [i % burned.width, Math.floor(i / burned.width)];
    const at = packed ? rasterCell(patches, x, y) : { x, y };
    const cell = at.y * collage.width + at.x;
    if (collage.mask[cell] === 0) continue;
    const light = ready.direction === 'lightens' && collage.lightness[cell] >= LIGHT_AREA_LIGHTNESS;
    aim[i] = light && burnsAtLightEnd(screened, grid, at.x, at.y) ? 2 : 1;
  }
  const warmths = ready.warmths.map((map, i) => (map ? squareWarmth(map, ready.screened[i], layout, pitchMm) : null));
  const seen = { width: tone.width, height: tone.height, pitchMm, mask: tone.mask };
  const light = told(tone).light();
  const meanK = (of: Piece, pass: Pass) => likelyWarmthK(of, pass, seen, light);
  const nominalK = piece.passes.map((pass) => meanK(piece, pass));
  const { offsetXMm, offsetYMm } = piece.picture;
  const squares: Squares = {
    cells: step,
    windowCells: side,
    xMm: layout.places.map(({ firstX }) => offsetXMm + (firstX + dots / 2 - tone.width / 2) * pitchMm),
    yMm: layout.places.map(({ firstY }) => offsetYMm + (firstY + dots / 2 - tone.height / 2) * pitchMm),
  };
  const windowsOf = (passes: ReturnType<typeof planJob>['passes']) =>
    passes.map((pass, i) => {
      const halo = haloOf(pass);
      return cutWindow(screened[i], grid, 0, side, halo.rows, halo.columns);
    });

  return {
    layout,
    tone,
    async burn(other, films) {
      const filmAt = createFilmAt(other.slab, other.stack);
      const shares = films ?? layout.places.map((_, i) => filmAt(squares.xMm[i], squares.yMm[i]));
      const whole = { width: tone.width, height: tone.height, pitchMm, ...sub };
      const planned = planJob(straightened(other), appearance, whole, { along: 'x', cells: step, shares }, COLLECT);
      const job = {
        ...planned,
        width: burned.width,
        squares,
        passes: planned.passes.map((pass, i) => ({
          ...pass,
          warmth: stepsOf(warmths[i], step, meanK(other, other.passes[i]), nominalK[i]),
        })),
      };
      runner.start(job);
      const task = { jobId: job.id, y0: 0, rows: burned.height, windows: windowsOf(job.passes), aim: aim.slice() };
      const swath = await runner.run(packed ? { ...task, patches } : task);
      return layout.places.map((_, tile) =>
        measure(
          swath,
          aim,
          collage,
          layout,
          tile,
          burned.width,
          packed ? tile * dots : margin * burned.width + tile * side + margin,
        ),
      );
    },
  };
}

/** What has been told of pictures that are judged again and again. */
const pictures = new WeakMap<ToneImage, ReturnType<typeof tell>>();

function told(tone: ToneImage) {
  const known = pictures.get(tone) ?? tell(tone);
  pictures.set(tone, known);
  return known;
}

function tell(tone: ToneImage) {
  const places = createMemo<SamplePlace[]>(4);
  const light = createMemo<Light>(1);
  return {
    places: (dots: number, tiles: number) => places(`${dots} ${tiles}`, () => samplePlaces(tone, dots, tiles)),
    light: () => light('', () => lightOf({ ...tone, alpha: null }, NEUTRAL_TONE)),
  };
}

const straightened = (piece: Piece): Piece => ({
  ...piece,
  passes: piece.passes.map((pass) => ({ ...pass, headingRad: 0 })),
});

interface SquareWarmth {
  readonly forwardK: Float64Array;
  readonly backwardK: Float64Array;
}

/** Mean over the rows of each square that run one way. */
function squareWarmth(
  map: WarmthMap,
  { raster, spans }: ScreenedPass,
  { places, dots }: Layout,
  pitchMm: number,
): SquareWarmth {
  const { column, row, rows } = raster;
  const at = (direction: number) =>
    Float64Array.from(places, ({ firstX, firstY }) => {
      let [sum, count] = [0, 0];
      for (let i = 0; i < dots * dots; i++) {
        const [xMm, yMm] = [(firstX + (i % dots) + 0.5) * pitchMm, (firstY + Math.floor(i / dots) + 0.5) * pitchMm];
        const v = row[0] + row[1] * xMm + row[2] * yMm;
        const line = Math.min(rows - 1, Math.max(0, Math.floor(v)));
        if (spans.backwards[line] !== direction) continue;
        sum += warmthAt(map, column[0] + column[1] * xMm + column[2] * yMm, v, line, direction);
        count++;
      }
      return count > 0 ? sum / count : 0;
    });
  return { forwardK: at(0), backwardK: map.directions === 2 ? at(1) : at(0) };
}

/** Heat goes with the watts that stay: the map of the sample's own piece, as much warmer as the picture is on the whole. */
function stepsOf(
  squares: SquareWarmth | null,
  cells: number,
  meanK: number,
  nominalK: number,
): WarmthSteps | number | null {
  if (!squares) return null;
  if (nominalK <= 0) return meanK;
  const scaled = (values: Float64Array) => values.map((value) => (value * meanK) / nominalK);
  return { cells, forwardK: scaled(squares.forwardK), backwardK: scaled(squares.backwardK) };
}

const linear = srgbDecodingTable(8);

function measure(
  swath: SwathResult,
  aim: Uint8Array,
  collage: ToneImage,
  layout: Layout,
  tile: number,
  width: number,
  corner: number,
): BurnedSquare {
  const { dots, margin } = layout;
  const color = swath.color as Uint8Array;
  const relief = swath.relief as Uint16Array;
  const residue = swath.fields?.residueUm[0];
  const rgb: [number, number, number] = [0, 0, 0];
  const sums = { tone: 0, cells: 0, scorched: 0, open: 0, uncleared: 0, residueUm: 0 };
  const first = margin * collage.width + tile * sideOf(layout) + margin;
  for (let y = 0; y < dots; y++) {
    for (let x = 0; x < dots; x++) {
      const cell = corner + y * width + x;
      if (aim[cell] === 0) continue;
      sums.cells++;
      sums.tone += collage.lightness[first + y * collage.width + x];
      for (let k = 0; k < 3; k++) rgb[k] += linear[color[4 * cell + k]];
      if (fromHalfFloat(relief[2 * cell + 1]) >= SCORCHED_LEVEL) sums.scorched++;
      if (aim[cell] !== 2) continue;
      sums.open++;
      sums.residueUm += residue?.[cell] ?? 0;
      if (color[4 * cell + 3] > 0) sums.uncleared++;
    }
  }
  const cells = Math.max(1, sums.cells);
  return { ...sums, tone: sums.tone / cells, rgb: [rgb[0] / cells, rgb[1] / cells, rgb[2] / cells] };
}

/** L* of a square. */
export const squareLightness = ({ rgb }: BurnedSquare): number => 100 * luminanceToLightness(luminanceOf(rgb));

/** Squares of a picture side by side, `dots` cells a side and `margin` more round each. */
interface Layout {
  readonly places: readonly SamplePlace[];
  readonly dots: number;
  readonly margin: number;
}

const sideOf = ({ dots, margin }: Layout): number => dots + 2 * margin;

/** The squares of a picture with their margins; beyond the picture nothing burns. */
function collageOf(tone: ToneImage, layout: Layout): ToneImage {
  const side = sideOf(layout);
  const width = side * layout.places.length;
  const lightness = new Float32Array(width * side);
  const mask = new Uint8Array(width * side);
  cut(tone.width, tone.height, layout, (from, to, length) => {
    lightness.set(tone.lightness.subarray(from, from + length), to);
    mask.set(tone.mask.subarray(from, from + length), to);
  });
  return { width, height: side, lightness, mask };
}

/**
 * A pass over the squares. One that runs along the picture's rows at its pitch keeps the very dots of the whole picture; any other is
 * screened anew on the squares and runs straight, as heading makes no difference to so small a place.
 */
function screenedCollage(
  whole: ScreenedPass,
  pass: Pass,
  tone: ToneImage,
  collage: ToneImage,
  pitchMm: number,
  layout: Layout,
): ScreenedPass {
  const own = keepsItsDots(whole, pass, tone, pitchMm);
  const { levels, mask, width, height } = own ? cutDots(whole, layout) : screenAnew(collage, pass, pitchMm);
  const raster = createPassRaster(collage.width * pitchMm, collage.height * pitchMm, pass.rowPitchMm, 0);
  const backwards = Uint8Array.from({ length: height }, (_, row) => (pass.rows === 'two-way' ? row % 2 : 0));
  const spans = { first: new Int32Array(height), end: new Int32Array(height).fill(width), backwards };
  return { raster, levels, mask, spans };
}

const keepsItsDots = ({ raster }: ScreenedPass, pass: Pass, tone: ToneImage, pitchMm: number): boolean =>
  pass.headingRad === 0 &&
  Math.abs(pass.rowPitchMm - pitchMm) < 1e-9 &&
  raster.columns === tone.width &&
  raster.rows === tone.height;

function cutDots({ raster, levels, mask }: ScreenedPass, layout: Layout) {
  const side = sideOf(layout);
  const width = side * layout.places.length;
  const dots = { levels: new Uint8Array(width * side), mask: new Uint8Array(width * side), width, height: side };
  cut(raster.columns, raster.rows, layout, (from, to, length) => {
    dots.levels.set(levels.subarray(from, from + length), to);
    dots.mask.set(mask.subarray(from, from + length), to);
  });
  return dots;
}

function screenAnew(collage: ToneImage, pass: Pass, pitchMm: number) {
  const scale = pitchMm / pass.rowPitchMm;
  const width = Math.max(1, Math.round(collage.width * scale));
  const height = Math.max(1, Math.round(collage.height * scale));
  const lightness = new Float32Array(width * height);
  const mask = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const line = Math.min(collage.height - 1, Math.floor((y + 0.5) / scale)) * collage.width;
    for (let x = 0; x < width; x++) {
      const from = line + Math.min(collage.width - 1, Math.floor((x + 0.5) / scale));
      lightness[y * width + x] = collage.lightness[from];
      mask[y * width + x] = collage.mask[from];
    }
  }
  const image = { width, height, lightness, mask };
  return { levels: screenTone(image, pass.screen, { serpentine: pass.serpentine }), mask, width, height };
}

/** Tells for each row of each square what of a plane it is: where it begins there and in the collage, and its length. */
function cut(
  width: number,
  height: number,
  layout: Layout,
  copy: (from: number, to: number, length: number) => void,
): void {
  const side = sideOf(layout);
  const { places, margin } = layout;
  places.forEach(({ firstX, firstY }, tile) => {
    const left = firstX - margin;
    const from = Math.max(0, left);
    const length = Math.min(width, left + side) - from;
    if (length <= 0) return;
    for (let row = 0; row < side; row++) {
      const y = firstY - margin + row;
      if (y < 0 || y >= height) continue;
      copy(y * width + from, row * side * places.length + tile * side + from - left, length);
    }
  });
}

/** Prepared lightness up to which a part of the picture counts as dark: there a dark-over-light stack is meant to stay. */
export const DARK_AREA_LIGHTNESS = 0.1;

/** Squares of a sample that gives a verdict, all of `SAMPLE_DOTS` cells a side; a sample has as many as asked for whatever the picture, so that kernels have few sizes. */
export const SAMPLE_TILES = 240;

const SAMPLE_DOTS = 10;

/** Shares of them that speak for the light areas and for the dark ones, where there are any; the others for all of the picture. */
const LIGHT_SHARE = 2 / 3;

const DARK_SHARE = 0.1;

type Speaks = 'light' | 'dark' | 'all';

/** A square of cells of the picture. */
interface SamplePlace {
  readonly firstX: number;
  readonly firstY: number;
  /** What it speaks for, and one over the cells of that kind in it. */
  readonly speaks: Speaks;
  readonly weight: number;
}

/**
 * Squares spread over the picture so that each kind of place is drawn in proportion to how much of it a square holds (systematic
 * sampling with probability proportional to size; sums are then means of shares: M. H. Hansen and W. N. Hurwitz, Ann. Math. Stat. 14,
 * 1943, value from memory). Fixed: the same picture always gives the same ones. `dots`: cells along a side, even, so that rows of all
 * squares run the same way.
 */
export function samplePlaces(
  { width, height, lightness, mask }: ToneImage,
  dots: number,
  count: number,
): SamplePlace[] {
  const across = Math.max(1, Math.floor(width / dots));
  const down = Math.max(1, Math.floor(height / dots));
  const light = new Float64Array(across * down);
  const dark = new Float64Array(across * down);
  const all = new Float64Array(across * down);
  for (let y = 0; y < Math.min(height, down * dots); y++) {
    const line = Math.floor(y / dots) * across;
    for (let x = 0; x < Math.min(width, across * dots); x++) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      const block = line + Math.floor(x / dots);
      all[block]++;
      if (lightness[at] >= LIGHT_AREA_LIGHTNESS) light[block]++;
      else if (lightness[at] <= DARK_AREA_LIGHTNESS) dark[block]++;
    }
  }
  const pick = (speaks: Speaks, sizes: Float64Array, wanted: number): SamplePlace[] =>
    systematic(sizes, across, wanted).map((block) => ({
      firstX: (block % across) * dots,
      firstY: Math.floor(block / across) * dots,
      speaks,
      weight: 1 / sizes[block],
    }));
  const lit = pick('light', light, Math.round(LIGHT_SHARE * count));
  const unlit = pick('dark', dark, Math.round(DARK_SHARE * count));
  return [...lit, ...unlit, ...pick('all', all, count - lit.length - unlit.length)];
}

/**
 * Blocks drawn in proportion to their sizes, at even steps along a curve that stays near itself (Z-order), so that no step of theirs falls
 * in with the rows of blocks; none if all are empty.
 */
function systematic(sizes: Float64Array, across: number, count: number): number[] {
  const total = sizes.reduce((sum, size) => sum + size, 0);
  if (total === 0) return [];
  const down = sizes.length / across;
  const side = 2 ** Math.ceil(Math.log2(Math.max(across, down)));
  const picked: number[] = [];
  let sum = 0;
  for (let code = 0; code < side * side && picked.length < count; code++) {
    const [x, y] = [evenBits(code), evenBits(code >>> 1)];
    if (x >= across || y >= down) continue;
    const block = y * across + x;
    sum += sizes[block];
    while (picked.length < count && ((picked.length + 0.5) * total) / count < sum) picked.push(block);
  }
  return picked;
}

/** Every second bit of a number, pushed together. */
function evenBits(code: number): number {
  let bits = 0;
  for (let i = 0; code >>> (2 * i) > 0; i++) bits |= ((code >>> (2 * i)) & 1) << i;
  return bits;
}
