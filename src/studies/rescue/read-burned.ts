import { luminanceOf } from '../../base/color/srgb.ts';
import type { Point } from '../../base/geometry/outline.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { inLanes } from '../../base/in-lanes.ts';
import { breathe } from '../../base/stop.ts';
import type { CoarseProof } from '../../burn/coarse.ts';
import type { Photo } from '../../burn/prepare.ts';
import { type ToneScale, toneScaleAt } from '../../burn/tone-scale.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import { adjustedLightness } from '../../image/tone.ts';
import { createFoundFilm, FOUND_AS_EXPECTED } from '../../physics/film/laid-film.ts';
import { createFace } from '../../physics/raster/face.ts';
import type { Piece } from '../../piece/schema.ts';
import { packTiles } from '../../piece/tiles.ts';
import { burnedLuminance, greyOf, lightOverTiles, type TileLuminance } from '../../vision/burned/burned-luminance.ts';
import { type LinedUp, lineUp } from '../../vision/burned/line-up.ts';
import { drawPiece, effectiveCount, learnFrom, type Weighted } from '../sure/spread.ts';
import { FEWEST_DRAWS } from './rescue-sample.ts';
import { createRescueScene, type RescueScene, type RescueTools } from './rescue-scene.ts';

/** A photograph of the piece as it came out. */
export interface BurnedPhoto {
  readonly photo: RgbaPhoto;
  /** Corners of the box round the slab in it, pixels: left top, right top, right bottom, left bottom. */
  readonly corners: readonly Point[];
}

export interface BurnedReading {
  /** The piece with what the photograph told: coats that take more or less, and a film that is thicker here and thinner there. */
  readonly piece: Piece;
  /** False if no piece that this one may truly be looks like that, or none comes near enough in places; then the piece is as it was. */
  readonly agrees: boolean;
  /** Root mean square difference of L* between photo and model over the tiles, before and after. */
  readonly missBefore: number;
  readonly missAfter: number;
  /** Tiles of the picture that were compared, and tiles of unburned coat that the light was evened out on. */
  readonly tiles: number;
  readonly references: number;
  /** What the photograph shows and what the nearest model does, L* per tile of the slab, row by row; NaN where nothing was compared. */
  readonly columns: number;
  readonly seenL: Float32Array;
  readonly modelL: Float32Array;
}

/** A draw, and by how much L* it is off. */
interface Miss {
  readonly piece: Piece;
  readonly miss: number;
}

const TILE_MM = 2;

const MOST_TILES = 512;

const DRAWS = 64;

/** How far the rim's shadow may reach, mm. */
const RIM_MM = 2;

/** What a phone's photograph may be wrong by in L*, as a mean over an area and in one tile (estimates). */
const AREA_ERROR = 2.5;

const WIDEST_ERROR = 8;

/** A model that is further off than this on average, once it has learned all it can, is not believed, L* (estimate: three times what a tile of a photograph is wrong by). */
const POOR_FIT = 6;

const TILE_ERROR = 2;

/** Standard deviation of the logarithm of a tile's film that is expected before the photo is seen (estimate). */
const FILM_SPREAD = 0.08;

const FACTORS = Array.from({ length: 31 }, (_, i) => 0.7 + 0.02 * i);

/** Ends of the groups of burned lightness that are compared as a whole. */
const GROUPS = [0.3, 0.6, 0.9, 1.01];

const FEWEST_REFERENCES = 12;

/** Share of a tile that the picture must fill, and share of the tiles that count as the lightest. */
const FILLED = 0.9;

const LIGHTEST_SHARE = 0.05;

/** So much more power makes thin films clear for sure. */
const MORE_LIGHT = 1.3;

/**
 * Reads a photograph of a burned piece against the model. The light is evened out on the unburned coat; that alone, or with
 * the lightest places taken for clear, fixes the scale. What is off everywhere speaks for other coats (draws that look otherwise lose weight), what is off here and there for a
 * film that lies thicker or thinner there (most likely factor per tile, given the error of a photograph).
 * @throws RangeError for corners that make no sense, a photo too small, or a photo on which too little unburned coat is to be seen.
 */
export async function readBurned(
  piece: Piece,
  photo: Photo,
  burned: BurnedPhoto,
  tools: RescueTools,
  onProgress: (share: number) => void = () => {},
  count = DRAWS,
): Promise<BurnedReading> {
  const scene = createRescueScene(piece, photo, tools);
  const tileMm = Math.max(TILE_MM, Math.max(piece.slab.widthMm, piece.slab.heightMm) / MOST_TILES);
  const tiles = burnedLuminance(burned.photo, burned.corners, piece.slab, tileMm);
  const places = tilePlaces(scene, tiles);
  const whole = wholeTiles(places, (tileMm / scene.scene.pitchMm) ** 2);
  const unburned = unburnedTiles(piece, tiles, places);
  const references = unburned.reduce((sum, one) => sum + one, 0);
  if (references < FEWEST_REFERENCES) {
    throw new RangeError('too little of the unburned coat is to be seen on this photograph to judge its light by');
  }
  const expected = await scene.burn(piece, 'fine');
  // Whether the lightest places are clear or still veiled is found out: the one that pieces like this can look like is believed.
  const cleared = await scene.burn(withMoreLight(piece), 'fine');
  const readings = [cleared, null].map((lightest) => {
    const measured = calibrated(tiles, unburned, whole, scene, expected.intact, lightest);
    return { measured, groups: groupTiles(scene, whole, measured), misses: [] as Miss[] };
  });
  const scales = await inLanes(count, tools.runner.lanes, async (draw) => {
    onProgress(draw / count);
    const drawn = drawPiece(piece, draw);
    return { drawn, scale: await scene.burn(drawn) };
  });
  for (const { groups, misses } of readings) {
    for (const { drawn, scale } of scales) misses.push({ piece: drawn, miss: areaMiss(scale, scene, groups) });
  }
  const leastMiss = ({ misses }: { misses: readonly Miss[] }) => Math.min(...misses.map(({ miss }) => miss));
  const [{ measured, misses }] = readings.sort((a, b) => leastMiss(a) - leastMiss(b));
  const draws = weighed(misses);
  const missBefore = missOf(expected, scene, whole, measured, null);
  const result = {
    tiles: whole.filter((cells) => cells.length > 0).length,
    references,
    missBefore,
    columns: tiles.columns,
    seenL: Float32Array.from(measured, (value, tile) => (whole[tile].length > 0 ? lightnessOf(value) : Number.NaN)),
  };
  const modelL = (scale: ToneScale, factors: readonly number[] | null) => {
    const look = lookUp(scale);
    return Float32Array.from(whole, (cells, tile) =>
      cells.length > 0 ? lightnessOf(meanLook(look, scene, cells, factors?.[tile] ?? 1)) : Number.NaN,
    );
  };
  if (!draws) return { ...result, piece, agrees: false, missAfter: missBefore, modelL: modelL(expected, null) };
  const learned = learnFrom(piece, draws);
  const scale = await scene.burn(learned, 'fine');
  const factors = whole.map((cells, tile) => likeliestFactor(scale, scene, cells, measured[tile]));
  const missAfter = missOf(scale, scene, whole, measured, factors);
  const nearest = { ...result, missAfter, modelL: modelL(scale, factors) };
  if (missAfter > POOR_FIT) return { ...nearest, piece, agrees: false };
  const found = keep(piece, tiles, factors);
  const stack = { ...learned.stack, film: { ...learned.stack.film, found } };
  return { ...nearest, piece: { ...learned, stack }, agrees: true };
}

/** Per tile the places of the quick look in it that burn. */
function tilePlaces(
  { scene, bins, piece }: RescueScene,
  { columns, rows, pitchMm, leftMm, topMm }: TileLuminance,
): number[][] {
  const { width, height, pitchMm: cellMm } = scene;
  const { offsetXMm, offsetYMm } = piece.picture;
  const places: number[][] = Array.from({ length: columns * rows }, () => []);
  for (let i = 0; i < bins.length; i++) {
    if (bins[i] < 0) continue;
    const column = Math.floor((offsetXMm + ((i % width) + 0.5 - width / 2) * cellMm - leftMm) / pitchMm);
    const row = Math.floor((offsetYMm + (Math.floor(i / width) + 0.5 - height / 2) * cellMm - topMm) / pitchMm);
    if (column >= 0 && row >= 0 && column < columns && row < rows) places[row * columns + column].push(i);
  }
  return places;
}

/** 1 for tiles of the face where nothing burns, well inside the rim. */
function unburnedTiles(
  piece: Piece,
  { columns, pitchMm, leftMm, topMm, luminance }: TileLuminance,
  places: readonly number[][],
): Uint8Array {
  const face = createFace(piece.slab);
  const rimMm = RIM_MM + piece.slab.maskedRimMm + piece.slab.seepMm;
  return Uint8Array.from(luminance, (value, tile) => {
    if (!(value > 0) || places[tile].length > 0) return 0;
    const xMm = leftMm + ((tile % columns) + 0.5) * pitchMm;
    const yMm = topMm + (Math.floor(tile / columns) + 0.5) * pitchMm;
    return face.rimDistanceMm(xMm, yMm) > rimMm ? 1 : 0;
  });
}

/** Only tiles that the picture fills: others show some of the margin too. */
const wholeTiles = (places: readonly number[][], most: number): number[][] =>
  places.map((cells) => (cells.length >= FILLED * most ? cells : []));

const withMoreLight = (piece: Piece): Piece => ({
  ...piece,
  passes: piece.passes.map((pass) => ({ ...pass, lightEndPower: Math.min(1, MORE_LIGHT * pass.lightEndPower) })),
});

/** Luminance of each tile as the model would tell it, Y of white = 1. `cleared`: what tones are where the coat is gone; null if nowhere. */
function calibrated(
  tiles: TileLuminance,
  unburned: Uint8Array,
  places: readonly number[][],
  scene: RescueScene,
  intact: readonly number[],
  cleared: ToneScale | null,
): Float32Array {
  const light = lightOverTiles(tiles, (tile) => unburned[tile] === 1);
  const even = tiles.luminance.map((value, tile) => value / light[tile]);
  const coat = luminanceOf(intact);
  const dark = mean([...even].filter((_, tile) => unburned[tile] === 1));
  if (!cleared) return even.map((value) => (coat * value) / dark);
  const shown = places.flatMap((cells, tile) => (cells.length > 0 && even[tile] > 0 ? [tile] : []));
  shown.sort((a, b) => even[b] - even[a]);
  const lightest = shown.slice(0, Math.max(1, Math.round(LIGHTEST_SHARE * shown.length)));
  const look = lookUp(cleared);
  const clear = mean(lightest.map((tile) => mean(places[tile].map((i) => look(scene.scene.lightness[i], 0)))));
  const seen = mean(lightest.map((tile) => even[tile]));
  if (!(seen > dark)) throw new RangeError('nothing on this photograph is lighter than the unburned coat');
  const gain = (clear - coat) / (seen - dark);
  return even.map((value) => Math.max(0, coat + gain * (value - dark)));
}

interface Group {
  readonly cells: readonly number[];
  /** L* of what the photo shows of them on average. */
  readonly lightness: number;
}

/** Places by burned lightness, as far as the photo shows them. */
function groupTiles({ scene, piece }: RescueScene, places: readonly number[][], measured: Float32Array): Group[] {
  const curve = adjustedLightness(piece.picture.tone);
  return GROUPS.slice(0, -1).flatMap((low, group) => {
    const cells: number[] = [];
    let [sum, shown] = [0, 0];
    places.forEach((inTile, tile) => {
      if (inTile.length === 0 || !(measured[tile] >= 0)) return;
      const tone = mean(inTile.map((i) => curve(scene.lightness[i])));
      if (tone < low || tone >= GROUPS[group + 1]) return;
      for (const i of inTile) cells.push(i);
      sum += inTile.length * measured[tile];
      shown += inTile.length;
    });
    return shown > 0 ? [{ cells, lightness: lightnessOf(sum / shown) }] : [];
  });
}

/** Root mean square of what the groups' L* is off by. */
function areaMiss(scale: ToneScale, scene: RescueScene, groups: readonly Group[]): number {
  const look = lookUp(scale);
  const misses = groups.map(({ cells, lightness }) => lightnessOf(meanLook(look, scene, cells, 1)) - lightness);
  return Math.sqrt(mean(misses.map((miss) => miss * miss)));
}

/** Draws weighed by how far off they are; null if all are far off. A few draws lie wide apart, so the error is taken wider until enough agree. */
function weighed(misses: readonly Miss[]): Weighted<Piece>[] | null {
  for (let error = AREA_ERROR; error <= WIDEST_ERROR; error *= 1.25) {
    const draws = misses.map(({ piece, miss }) => ({ value: piece, weight: Math.exp(-0.5 * (miss / error) ** 2) }));
    const nearest = Math.max(...draws.map(({ weight }) => weight));
    if (nearest > 0.1 && effectiveCount(draws) >= FEWEST_DRAWS) return draws;
  }
  return null;
}

/** Root mean square difference over the tiles that the photo shows. */
function missOf(
  scale: ToneScale,
  scene: RescueScene,
  places: readonly number[][],
  measured: Float32Array,
  factors: readonly number[] | null,
): number {
  const look = lookUp(scale);
  const squares = places.flatMap((cells, tile) => {
    if (cells.length === 0 || !(measured[tile] >= 0)) return [];
    const shown = lightnessOf(meanLook(look, scene, cells, factors?.[tile] ?? 1));
    return [(shown - lightnessOf(measured[tile])) ** 2];
  });
  return squares.length > 0 ? Math.sqrt(mean(squares)) : 0;
}

/** Film over what was expected that explains a tile best, given how wrong a photo may be. */
function likeliestFactor(scale: ToneScale, scene: RescueScene, cells: readonly number[], measured: number): number {
  if (cells.length === 0 || !(measured >= 0)) return 1;
  const look = lookUp(scale);
  const wanted = lightnessOf(measured);
  let [best, least] = [1, Number.POSITIVE_INFINITY];
  for (const factor of FACTORS) {
    const miss = (lightnessOf(meanLook(look, scene, cells, factor)) - wanted) / TILE_ERROR;
    const unlikely = miss * miss + (Math.log(factor) / FILM_SPREAD) ** 2;
    if (unlikely < least) [best, least] = [factor, unlikely];
  }
  return best;
}

const TONES = 64;

const FILMS = 61;

const tables = new WeakMap<ToneScale, Float32Array>();

/** Luminance over tone and film, tabulated once per scale. */
function lookUp(scale: ToneScale): (tone: number, film: number) => number {
  let table = tables.get(scale);
  if (!table) {
    table = Float32Array.from({ length: TONES * FILMS }, (_, at) => {
      const mix = toneScaleAt(scale, (at % TONES) / (TONES - 1), Math.floor(at / TONES) / (FILMS - 1));
      return luminanceOf([mix(scale.rgb, 3, 0), mix(scale.rgb, 3, 1), mix(scale.rgb, 3, 2)]);
    });
    tables.set(scale, table);
  }
  const values = table;
  const [lowest, highest] = [scale.films[0], scale.films[scale.films.length - 1]];
  return (tone, film) => {
    const row = Math.round(Math.min(1, Math.max(0, (film - lowest) / (highest - lowest))) * (FILMS - 1));
    return values[row * TONES + Math.round(tone * (TONES - 1))];
  };
}

const meanLook = (
  look: (tone: number, film: number) => number,
  { scene }: RescueScene,
  cells: readonly number[],
  factor: number,
): number => mean(cells.map((i) => look(scene.lightness[i], factor * scene.ground.film[i])));

/** Factors as the piece keeps them, times what it knew before. */
function keep(piece: Piece, { columns, rows, pitchMm, leftMm, topMm }: TileLuminance, factors: readonly number[]) {
  const before = piece.stack.film.found ? createFoundFilm(piece.stack.film.found) : null;
  const values = new Uint8Array(columns * rows);
  for (let row = 0; row < rows; row++) {
    const known = new Float32Array(columns).fill(1);
    before?.({ originXMm: leftMm, yMm: topMm + (row + 0.5) * pitchMm, pitchMm }, known);
    for (let column = 0; column < columns; column++) {
      const factor = factors[row * columns + column] * known[column];
      values[row * columns + column] = Math.min(255, Math.round(FOUND_AS_EXPECTED * factor));
    }
  }
  return { xMm: leftMm, yMm: topMm, pitchMm, tiles: packTiles(columns, rows, values) };
}

const lightnessOf = (luminance: number): number => 100 * luminanceToLightness(Math.min(1, luminance));

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Tiles along the slab's longer side. */
const TILES = 240;

/** Rim that is left out: bark, tape and shadow differ. */
const LEFT_OUT_RIM_MM = 1.5;

/** Below this the two are not told to be the same face; wrong places and wrong slabs stay under a half. */
const ALIKE = 0.6;

/**
 * Finds the slab in a photograph of it as it came out, by what it is expected to look like.
 * @param near corners to begin from, if the maker has laid them roughly; otherwise they are looked for all over the photo.
 * @returns null if nothing in the photo is alike enough. @throws Cancelled if told to stop.
 */
export async function findCorners(
  piece: Piece,
  photo: Photo,
  burned: RgbaPhoto,
  tools: RescueTools,
  near: readonly Point[] | null = null,
  onShare: (share: number) => void = () => {},
): Promise<LinedUp | null> {
  const look = await tools.coarse.coarse(piece, photo, tools.appearance(piece), tools.runner);
  const starts = near ? [near] : allOver(piece, burned);
  const found = await lineUp(expectedTiles(piece, look), greyOf(burned), starts, async (share) => {
    onShare(share);
    await breathe(tools.signal);
  });
  return found.correlation >= ALIKE ? found : null;
}

/** Lightness of the face as it is expected: the picture, and unburned coat round it. */
function expectedTiles({ slab, stack, picture }: Piece, look: CoarseProof): TileLuminance {
  const pitchMm = Math.max(slab.widthMm, slab.heightMm) / TILES;
  const columns = Math.round(slab.widthMm / pitchMm);
  const rows = Math.round(slab.heightMm / pitchMm);
  const [leftMm, topMm] = [-slab.widthMm / 2, -slab.heightMm / 2];
  const face = createFace(slab);
  const rimMm = LEFT_OUT_RIM_MM + slab.maskedRimMm;
  const coat = (stack.coats[0] ?? slab.wood).colorLab[0] / 100;
  const { values: shown } = greyOf({ ...look, rgba: look.color });
  const leftOfLook = picture.offsetXMm - (look.width * look.pitchMm) / 2;
  const topOfLook = picture.offsetYMm - (look.height * look.pitchMm) / 2;
  const luminance = new Float32Array(columns * rows).fill(Number.NaN);
  for (let row = 0; row < rows; row++) {
    const yMm = topMm + (row + 0.5) * pitchMm;
    const y = Math.floor((yMm - topOfLook) / look.pitchMm);
    for (let column = 0; column < columns; column++) {
      const xMm = leftMm + (column + 0.5) * pitchMm;
      if (face.rimDistanceMm(xMm, yMm) < rimMm) continue;
      const x = Math.floor((xMm - leftOfLook) / look.pitchMm);
      const inside = x >= 0 && y >= 0 && x < look.width && y < look.height;
      luminance[row * columns + column] = inside ? shown[y * look.width + x] : coat;
    }
  }
  return { columns, rows, pitchMm, leftMm, topMm, luminance };
}

/** Shares of the photo that the slab may fill, how far off its middle (shares of its sides), and how askew (rad). */
const FILLS = [0.6, 0.75, 0.92];

const OFF: readonly Point[] = [
  [0, 0],
  [-0.08, 0],
  [0.08, 0],
  [0, -0.08],
  [0, 0.08],
];

const ASKEW = [-0.15, 0, 0.15];

const QUARTERS = [0, 1, 2, 3];

/** Boxes all over a photo: as it lies, upside down, on either side. */
function allOver({ slab }: Piece, { width, height }: RgbaPhoto): Point[][] {
  return QUARTERS.flatMap((quarter) => {
    const upright = quarter % 2 === 0;
    const [wide, high] = upright ? [slab.widthMm, slab.heightMm] : [slab.heightMm, slab.widthMm];
    const fit = Math.min(width / wide, height / high);
    return FILLS.flatMap((fill) =>
      OFF.flatMap(([dx, dy]) =>
        ASKEW.map((askew) => {
          const [c, s] = [Math.cos(askew + (quarter * Math.PI) / 2), Math.sin(askew + (quarter * Math.PI) / 2)];
          const [a, b] = [(fit * fill * slab.widthMm) / 2, (fit * fill * slab.heightMm) / 2];
          return [
            [-a, -b],
            [a, -b],
            [a, b],
            [-a, b],
          ].map(([x, y]): Point => [width * (0.5 + dx) + c * x - s * y, height * (0.5 + dy) + s * x + c * y]);
        }),
      ),
    );
  });
}
