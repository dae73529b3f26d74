import type { FoundFilm } from '../../piece/found-film.ts';
import { unpackTiles } from '../../piece/tiles.ts';
import type { RowPlace } from './laid-film.ts';

/** The byte of a tile that says "as thick as expected"; a factor is the byte over it. */
export const FOUND_AS_EXPECTED = 128;

/** Multiplies rows of a film by what was found: bilinear between the middles of the tiles, held to the edge of the outermost, 1 beyond. */
export function createFoundFilm(found: FoundFilm): (place: RowPlace, filmUm: Float32Array) => void {
  const { xMm, yMm, pitchMm, tiles } = found;
  const { columns, rows } = tiles;
  const factors = Float32Array.from(unpackTiles(tiles), (byte) => byte / FOUND_AS_EXPECTED);
  const at = (column: number, row: number) =>
    factors[Math.min(rows - 1, Math.max(0, row)) * columns + Math.min(columns - 1, Math.max(0, column))];
  return (place, filmUm) => {
    const down = (place.yMm - yMm) / pitchMm;
    if (down < 0 || down >= rows) return;
    const row = Math.floor(down - 0.5);
    const lower = down - 0.5 - row;
    for (let i = 0; i < filmUm.length; i++) {
      const along = (place.originXMm + (i + 0.5) * place.pitchMm - xMm) / pitchMm;
      if (along < 0 || along >= columns) continue;
      const column = Math.floor(along - 0.5);
      const right = along - 0.5 - column;
      const above = at(column, row) + right * (at(column + 1, row) - at(column, row));
      const below = at(column, row + 1) + right * (at(column + 1, row + 1) - at(column, row + 1));
      filmUm[i] *= above + lower * (below - above);
    }
  };
}
