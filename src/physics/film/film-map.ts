import { InputError, LIMITS } from '../../base/input-error.ts';
import { decodeNpy } from '../../base/npy.ts';
import type { FoundFilm, Piece } from '../../piece/schema.ts';
import { packTiles } from '../../piece/tiles.ts';
import { FOUND_AS_EXPECTED } from './laid-film.ts';

/** A film map that cannot be used. */
export class FilmMapError extends InputError {}

/** Dry thickness of the topmost coat in µm, row by row from the far left corner of the box round the slab; all places equally large. */
export interface FilmMap {
  readonly columns: number;
  readonly rows: number;
  readonly um: Float32Array;
}

const MOST_PLACES = 512;
const MOST_UM = 1000;
/** What a film gauge may be wrong by as a whole, share (common practice, no published source). */
const GAUGE = 0.03;
const MOST_FACTOR = 255 / FOUND_AS_EXPECTED;

/**
 * Reads a measured film: a table of numbers with commas, semicolons, tabs or blanks between them, or a NumPy array (two dimensions, float32 or
 * float64).
 * @throws FilmMapError saying what is wrong.
 */
export function parseFilmMap(bytes: Uint8Array): FilmMap {
  const map = bytes[0] === 0x93 ? fromNpy(bytes) : fromText(bytes);
  const bad = map.um.findIndex((value) => !(value >= 0 && value <= MOST_UM));
  if (bad >= 0) {
    const [row, column] = [Math.floor(bad / map.columns) + 1, (bad % map.columns) + 1];
    throw new FilmMapError(`row ${row}, column ${column}: a film is 0 to ${MOST_UM} µm thick, got ${map.um[bad]}`);
  }
  return map;
}

function fromNpy(bytes: Uint8Array): FilmMap {
  const { shape, data } = reading(() => decodeNpy(bytes));
  if (shape.length !== 2) throw new FilmMapError(`a film map has two dimensions, this array has ${shape.length}`);
  return sized(shape[1], shape[0], data);
}

function reading<Result>(read: () => Result): Result {
  try {
    return read();
  } catch (error) {
    throw new FilmMapError(`${(error as Error).message}; save it with numpy.save as float32 or float64`);
  }
}

function fromText(bytes: Uint8Array): FilmMap {
  if (bytes.length > LIMITS.drawingBytes) throw new FilmMapError('this table is too long for a film map');
  const lines = new TextDecoder()
    .decode(bytes)
    .replace(/^\ufeff/, '')
    .split(/\r?\n/)
    .filter((line) => line.trim() !== '' && !line.startsWith('#'));
  if (lines.length === 0) throw new FilmMapError('there are no numbers in this table');
  if (lines.length > MOST_PLACES)
    throw new FilmMapError(`a film map has ${MOST_PLACES} rows at most, this one has more`);
  const rows = lines.map((line, i) => rowOf(line, i + 1));
  const columns = rows[0].length;
  const short = rows.findIndex((row) => row.length !== columns);
  if (short >= 0)
    throw new FilmMapError(`row ${short + 1} has ${rows[short].length} numbers, the first has ${columns}`);
  return sized(columns, rows.length, Float32Array.from(rows.flat()));
}

/** Where columns are parted by semicolons or tabs a comma is a decimal one. */
function rowOf(line: string, number: number): number[] {
  const parted = /[;\t]/.test(line);
  const cells = line.trim().split(parted ? /\s*[;\t]\s*/ : /\s*,\s*|\s+/);
  return cells.map((cell) => {
    const value = Number(parted ? cell.replace(',', '.') : cell);
    if (cell === '' || Number.isNaN(value)) throw new FilmMapError(`row ${number}: “${cell}” is no number`);
    return value;
  });
}

function sized(columns: number, rows: number, um: Float32Array): FilmMap {
  if (!(columns >= 1 && rows >= 1 && columns <= MOST_PLACES && rows <= MOST_PLACES)) {
    throw new FilmMapError(`a film map has 1 to ${MOST_PLACES} rows and columns, this one has ${rows} and ${columns}`);
  }
  return { columns, rows, um };
}

/**
 * The piece with a measured film of its topmost coat, spread over the box round the slab. The coat's mean becomes that of the map, the rest
 * factors on it.
 * @throws FilmMapError for a piece without coats, or a map that varies more than tiles can say.
 */
export function withFilmMap(piece: Piece, map: FilmMap): Piece {
  const [top, ...others] = piece.stack.coats;
  if (!top) throw new FilmMapError('bare wood has no film');
  const mean = map.um.reduce((sum, value) => sum + value, 0) / map.um.length;
  if (!(mean > 0)) throw new FilmMapError('this film is nowhere thicker than nothing');
  if (map.um.some((value) => value > MOST_FACTOR * mean)) {
    throw new FilmMapError(
      `this film is in places more than ${MOST_FACTOR.toFixed(1)} times as thick as on average (${mean.toFixed(1)} µm): is it one coat?`,
    );
  }
  const found = tilesOf(piece, map, mean);
  const coats = [{ ...top, dryThicknessUm: mean }, ...others];
  const certainty = { ...piece.certainty, thickness: Math.min(piece.certainty.thickness, GAUGE) };
  return { ...piece, certainty, stack: { ...piece.stack, coats, film: { ...piece.stack.film, shown: 'mean', found } } };
}

/** Squares over the slab's box, as fine as the finer side of the map's places. */
function tilesOf({ slab }: Piece, { columns, rows, um }: FilmMap, mean: number): FoundFilm {
  const { widthMm, heightMm } = slab;
  const finest = Math.max(widthMm, heightMm) / MOST_PLACES;
  const pitchMm = Math.min(100, Math.max(0.1, finest, Math.min(widthMm / columns, heightMm / rows)));
  const [across, down] = [Math.ceil(widthMm / pitchMm - 1e-9), Math.ceil(heightMm / pitchMm - 1e-9)];
  const at = (column: number, row: number) =>
    um[Math.min(rows - 1, Math.max(0, row)) * columns + Math.min(columns - 1, Math.max(0, column))];
  const values = Uint8Array.from({ length: across * down }, (_, tile) => {
    const x = (((tile % across) + 0.5) * pitchMm * columns) / widthMm - 0.5;
    const y = ((Math.floor(tile / across) + 0.5) * pitchMm * rows) / heightMm - 0.5;
    const [left, top] = [Math.floor(x), Math.floor(y)];
    const between = (row: number) => at(left, row) + (x - left) * (at(left + 1, row) - at(left, row));
    const value = between(top) + (y - top) * (between(top + 1) - between(top));
    return Math.min(255, Math.round((FOUND_AS_EXPECTED * value) / mean));
  });
  return { xMm: -widthMm / 2, yMm: -heightMm / 2, pitchMm, tiles: packTiles(across, down, values) };
}
