import { SCENE_BINS } from '../../burn/scene-bins.ts';
import { adjustedLightness } from '../../image/tone.ts';
import type { Tiles } from '../../piece/schema.ts';
import { packTiles } from '../../piece/tiles.ts';
import { DARK_AREA_LIGHTNESS } from '../sure/places.ts';
import type { RescueScene } from './rescue-scene.ts';

/** Side of a tile where the picture is not too large for it, mm. */
const TILE_MM = 2;
const MOST_TILES = 512;
/** A place is worth another pass if it stays uncleared with this likelihood. */
const NEEDED_ODDS = 0.05;

export interface NeededPlaces {
  readonly only: Tiles;
  /** Share of the places that burn at all. */
  readonly share: number;
}

/**
 * The tiles over the placed picture where residue is to be expected, and what lies within `growMm` of them. `unclearedOdds`: per bin of
 * tone and film, how likely a dot at the light end stays uncleared.
 */
export function neededPlaces(
  { scene, bins, piece }: RescueScene,
  unclearedOdds: ArrayLike<number>,
  growMm: number,
): NeededPlaces {
  const { width, height, pitchMm, lightness } = scene;
  const tilesAlong = (places: number) =>
    Math.max(1, Math.min(MOST_TILES, places, Math.round((places * pitchMm) / TILE_MM)));
  const [columns, rows] = [tilesAlong(width), tilesAlong(height)];
  const burned = adjustedLightness(piece.picture.tone);
  const tileOf = (i: number) =>
    Math.floor((Math.floor(i / width) * rows) / height) * columns + Math.floor(((i % width) * columns) / width);
  const needed = new Uint8Array(columns * rows);
  for (let i = 0; i < bins.length; i++) {
    if (bins[i] < 0 || unclearedOdds[bins[i]] < NEEDED_ODDS) continue;
    if (burned(lightness[i]) > DARK_AREA_LIGHTNESS) needed[tileOf(i)] = 255;
  }
  const tiles = grow(
    needed,
    columns,
    rows,
    (growMm * columns) / (width * pitchMm),
    (growMm * rows) / (height * pitchMm),
  );
  let [inside, all] = [0, 0];
  for (let i = 0; i < bins.length; i++) {
    if (bins[i] < 0) continue;
    all++;
    if (tiles[tileOf(i)] > 0) inside++;
  }
  return { only: packTiles(columns, rows, tiles), share: all > 0 ? inside / all : 0 };
}

/** All tiles that hold anything lighter than a dark area. */
export const placesBeyondDarks = (scene: RescueScene): Tiles =>
  neededPlaces(scene, new Float64Array(SCENE_BINS).fill(1), 0).only;

/** Tiles within an ellipse of a tile that is set; half axes in tiles. */
function grow(tiles: Uint8Array, columns: number, rows: number, alongTiles: number, acrossTiles: number): Uint8Array {
  const grown = tiles.slice();
  const [reachX, reachY] = [Math.ceil(alongTiles), Math.ceil(acrossTiles)];
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (tiles[y * columns + x] === 0) continue;
      for (let dy = -reachY; dy <= reachY; dy++) {
        for (let dx = -reachX; dx <= reachX; dx++) {
          const [column, row] = [x + dx, y + dy];
          if (column < 0 || row < 0 || column >= columns || row >= rows) continue;
          if ((dx / Math.max(1, alongTiles)) ** 2 + (dy / Math.max(1, acrossTiles)) ** 2 <= 1) {
            grown[row * columns + column] = 255;
          }
        }
      }
    }
  }
  return grown;
}
