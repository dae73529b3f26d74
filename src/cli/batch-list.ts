import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import Papa from 'papaparse';
import { isDay } from '../base/day.ts';
import { fileName } from '../base/file-name.ts';
import { fitMessage, LIMITS } from '../base/input-error.ts';
import { fieldOf } from '../piece/fields.ts';
import { ORDER_STATES } from '../piece/schema.ts';
import type { OrderLine } from '../shop/from-template.ts';
import { CliError, quantityOption, UsageError } from './options.ts';
import { readBytes } from './read-files.ts';

/** An order that can be worked on. */
export interface BatchRow extends OrderLine {
  /** As a table program counts them: the first line of a list is its head. */
  readonly row: number;
  readonly path: string;
  /** Whether the list names it; else it is called after its file. */
  readonly named: boolean;
  /** Name of an entry on the shelf; null: the template's own coats and machine. */
  readonly paint: string | null;
  /** What its folder is called. */
  readonly folder: string;
}

/** A row that cannot be worked on, with what is wrong: as many sentences as there are faults, each with its column. */
export interface BadRow {
  readonly row: number;
  readonly name: string;
  readonly faults: readonly string[];
}

export interface BatchList {
  readonly rows: readonly BatchRow[];
  readonly bad: readonly BadRow[];
}

export const COLUMNS = {
  photo: 'file of the photograph, from the list’s folder; or a .foreburn piece, with its own settings',
  name: 'of the piece (default: the file’s name)',
  client: 'who it is for',
  due: 'day on which it is due, as in 2031-05-02',
  state: ORDER_STATES.join(', '),
  quantity: 'slabs of it',
  width: 'of the slab, mm',
  height: 'of the slab, mm',
  picture: 'width of the picture, mm (default: as large as the slab allows)',
  paint: 'a name on the shelf (--shelf): coats and machine as they were measured',
} as const;

type Column = keyof typeof COLUMNS;

type Cells = Partial<Record<Column, string>>;

/** Its files are called so too, with endings: file systems take 255 bytes. */
const LONGEST_FOLDER = 50;

/** Most rows of a list. */
const MOST_ROWS = 5000;

const PICTURES = /\.(jpe?g|png|webp|tiff?)$/i;

export const isPieceFile = (path: string): boolean => /\.foreburn$/i.test(path);

/** A list of orders, or a folder's photographs and pieces. @throws CliError for what is neither, and for a head that cannot be read. */
export async function readBatchList(path: string, paints: ReadonlySet<string> | null): Promise<BatchList> {
  const found = await stat(path).catch(() => null);
  if (found?.isDirectory()) {
    const names = (await readdir(path)).filter((name) => PICTURES.test(name) || isPieceFile(name)).sort();
    if (names.length === 0) throw new CliError(`${path}: there is no photograph and no piece in this folder`);
    return checkRows(
      names.map((photo, i) => ({ row: i + 1, cells: { photo } })),
      path,
      paints,
    );
  }
  return parseBatchList(path, await readBytes(path, LIMITS.drawingBytes), paints);
}

/** A list from its file's bytes. @throws CliError */
export const parseBatchList = (path: string, bytes: Uint8Array, paints: ReadonlySet<string> | null): BatchList =>
  checkRows(tableRows(path, textOf(path, bytes)), dirname(path), paints);

function textOf(path: string, bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new CliError(`${path}: this is not text in UTF-8; save the table as CSV in UTF-8`);
  }
}

interface TableRow {
  readonly row: number;
  readonly cells: Cells;
}

function tableRows(path: string, text: string): TableRow[] {
  const { data, errors } = Papa.parse<string[]>(text, { skipEmptyLines: false });
  const quotes = errors.find(({ type }) => type === 'Quotes');
  if (quotes) throw new CliError(`${path}: row ${(quotes.row ?? 0) + 1}: a quotation mark is not closed`);
  const [head = [], ...lines] = data;
  const columns = head.map((cell) => cell.trim().toLowerCase());
  const known = Object.keys(COLUMNS) as Column[];
  const strange = columns.find((name) => name !== '' && !known.some((column) => column === name));
  const twice = columns.find((name, i) => name !== '' && columns.indexOf(name) !== i);
  if (strange !== undefined)
    throw new CliError(`${path}: row 1: there is no column "${strange}"; there are ${known.join(', ')}`);
  if (twice !== undefined) throw new CliError(`${path}: row 1: the column "${twice}" is there twice`);
  if (!columns.includes('photo')) throw new CliError(`${path}: row 1: the column "photo" is missing`);
  const rows = lines.flatMap((line, i): TableRow[] => {
    if (line.every((cell) => cell.trim() === '')) return [];
    const cells: Cells = {};
    for (const [at, cell] of line.entries()) if (columns[at]) cells[columns[at] as Column] = cell.trim();
    return [{ row: i + 2, cells }];
  });
  if (rows.length === 0) throw new CliError(`${path}: there is no row below its head`);
  if (rows.length > MOST_ROWS) throw new CliError(`${path}: it has more than ${MOST_ROWS} rows`);
  return rows;
}

function checkRows(table: readonly TableRow[], folder: string, paints: ReadonlySet<string> | null): BatchList {
  const rows: BatchRow[] = [];
  const bad: BadRow[] = [];
  const taken = new Map<string, number>();
  for (const { row, cells } of table) {
    const faults: string[] = [];
    const checked = checkRow(row, cells, folder, paints, (column, message) =>
      faults.push(fitMessage(`${column}: ${message}`)),
    );
    const before = taken.get(checked.folder);
    if (before !== undefined)
      faults.push(
        `name: row ${before} has the same name (its folder would be "${checked.folder}"); give it one of its own`,
      );
    else taken.set(checked.folder, row);
    if (faults.length > 0) bad.push({ row, name: checked.name, faults });
    else rows.push(checked);
  }
  return { rows, bad };
}

function checkRow(
  row: number,
  cells: Cells,
  folder: string,
  paints: ReadonlySet<string> | null,
  fault: (column: Column, message: string) => void,
): BatchRow {
  const text = (column: Column): string | null => cells[column] || null;
  const words = (column: Column): string | null => {
    const found = text(column);
    if (found !== null && found.length > 200) fault(column, 'must have at most 200 letters');
    return found;
  };
  const number = (column: Column, path: Parameters<typeof fieldOf>[0]): number | null => {
    const found = text(column);
    if (found === null) return null;
    try {
      return quantityOption(column, found, fieldOf(path));
    } catch (error) {
      if (!(error instanceof UsageError)) throw error;
      fault(column, error.message.slice(column.length + 2));
      return null;
    }
  };
  const photo = text('photo');
  if (photo === null) fault('photo', 'is missing');
  else if (!PICTURES.test(photo) && !isPieceFile(photo))
    fault('photo', `must name a JPEG, PNG, WebP, TIFF or .foreburn file, got "${photo}"`);
  const dueOn = text('due');
  if (dueOn !== null && !isDay(dueOn)) fault('due', `must be a day like 2031-05-02, got "${dueOn}"`);
  const stateText = text('state');
  const state = ORDER_STATES.find((one) => one === stateText?.toLowerCase());
  if (stateText !== null && !state) fault('state', `must be one of ${ORDER_STATES.join(', ')}, got "${stateText}"`);
  const quantity = number('quantity', 'order.quantity');
  if (quantity !== null && !Number.isInteger(quantity)) fault('quantity', `must be a whole number, got "${quantity}"`);
  const paint = text('paint');
  if (paint !== null && !paints) fault('paint', 'names an entry of a shelf: give the shelf with --shelf FILE');
  else if (paint !== null && !paints!.has(paint)) fault('paint', `there is no "${paint}" on the shelf`);
  const size = { widthMm: number('width', 'slab.widthMm'), heightMm: number('height', 'slab.heightMm') };
  const pictureWidthMm = number('picture', 'picture.widthMm');
  const sized = (['width', 'height', 'picture'] as const).find((column) => text(column) !== null);
  if (sized && photo !== null && isPieceFile(photo)) fault(sized, 'a piece has its own size: leave the cell empty');
  const path = join(folder, photo ?? '');
  const given = words('name');
  const name = given ?? basename(path).replace(/\.[^.]*$/, '');
  return {
    row,
    path,
    named: given !== null,
    name,
    folder: [...fileName(name)].slice(0, LONGEST_FOLDER).join(''),
    client: words('client'),
    order: { ...(dueOn !== null && { dueOn }), ...(state && { state }), ...(quantity !== null && { quantity }) },
    ...size,
    pictureWidthMm,
    paint,
  };
}
