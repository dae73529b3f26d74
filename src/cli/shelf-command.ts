import { createPiece } from '../piece/defaults.ts';
import { encodePieceFile } from '../piece/file.ts';
import { readDrift } from '../studies/calibrate/drift.ts';
import {
  compareEntries,
  EMPTY_SHELF,
  exportShelf,
  type ImportedShelf,
  importShelf,
  mergeShelves,
  putOnShelf,
  type ShelfEntry,
  shelve,
  takeFromShelf,
} from '../studies/calibrate/shelf/shelf.ts';
import { parseCard } from '../vision/card/card.ts';
import { parseReading } from '../vision/card/reading.ts';
import type { CliIo, Command, CommandIo } from './io.ts';
import { CliError, type OptionValues, UsageError } from './options.ts';
import { naming, readPieceFile, readText } from './read-files.ts';

const ACTIONS = ['list', 'add', 'take', 'compare', 'import', 'export', 'check'] as const;

export const SHELF: Command = {
  name: 'shelf',
  operands: 'ACTION …',
  reads: readByAction,
  summary: `Keep calibrated stacks and machines: ${ACTIONS.join(', ')}.`,
  options: [
    { name: 'shelf', value: 'FILE', help: 'the shelf (default: shelf.json)' },
    {
      name: 'piece',
      value: 'FILE',
      reads: true,
      help: 'add: the calibrated piece; take: the piece that gets the numbers',
    },
    { name: 'picture', value: 'FILE', help: 'add: where the picture of the card is kept' },
    { name: 'card', value: 'FILE', reads: true, help: 'check: the check strip' },
    { name: 'out', value: 'FILE', help: 'take: the piece; export: the shelf' },
    { name: 'json', help: 'print what was found' },
  ],
  async run(operands, values, io) {
    const [action, ...rest] = operands;
    if (!ACTIONS.includes(action as (typeof ACTIONS)[number])) {
      throw new UsageError(`shelf: say what to do: ${ACTIONS.join(', ')}`);
    }
    const path = shelfPath(values);
    await ACTION[action as (typeof ACTIONS)[number]](path, rest, values, io);
  },
};

type Action = (path: string, rest: string[], values: OptionValues, io: CommandIo) => Promise<void>;

/** How long to wait for others that write on a shelf, ms: each takes a moment only. */
const PATIENCE_MS = 30_000;

const shelfPath = (values: OptionValues): string => (values['shelf'] as string | undefined) ?? 'shelf.json';

/** What an action reads besides what its options name: `import FILE`, `check NAME READING`; the shelf, unless it is written. */
function readByAction([action, first, second]: readonly string[], values: OptionValues): string[] {
  if (action === 'add') return [];
  if (action === 'import') return [first ?? ''];
  return [shelfPath(values), ...(action === 'check' ? [second ?? ''] : [])];
}

/** An old shelf, or an empty one if there is no file yet; refused entries are told, and stop whatever would write over them. */
export async function openShelf(path: string, io: CliIo, mustExist = true): Promise<ImportedShelf> {
  try {
    const text = await readText(path);
    const opened = naming(path, () => importShelf(text));
    for (const { name, reason } of opened.refused) io.error(`${path}: "${name}" is left out: ${reason}\n`);
    return opened;
  } catch (error) {
    if (!mustExist && /there is no such file/.test((error as Error).message))
      return { shelf: EMPTY_SHELF, refused: [] };
    throw error;
  }
}

/** Changes the shelf as it stands once nobody else writes on it. */
async function changeShelf(
  path: string,
  io: CommandIo,
  change: (opened: ImportedShelf) => readonly ShelfEntry[],
): Promise<void> {
  await io.outputs.claim(path, PATIENCE_MS);
  const opened = await openShelf(path, io, false);
  if (opened.refused.length > 0) {
    throw new CliError(
      `${path}: not written, because ${opened.refused.length} damaged entries would be lost; mend or export it first`,
    );
  }
  await io.outputs.write(path, exportShelf({ entries: change(opened) }));
}

function entryOf(opened: ImportedShelf, path: string, name: string | undefined): ShelfEntry {
  const names = opened.shelf.entries.map((one) => one.name);
  const entry = opened.shelf.entries.find((one) => one.name === name);
  if (entry) return entry;
  throw new CliError(
    `${path}: there is no entry "${name ?? ''}"; there are ${names.map((one) => `"${one}"`).join(', ') || 'none'}`,
  );
}

const needs = (values: OptionValues, option: string, action: string): string => {
  const value = values[option] as string | undefined;
  if (value === undefined) throw new UsageError(`shelf ${action}: --${option} is missing`);
  return value;
};

const ACTION: Readonly<Record<(typeof ACTIONS)[number], Action>> = {
  async list(path, _, values, io) {
    const { shelf } = await openShelf(path, io, false);
    if (values['json']) io.out(`${JSON.stringify(shelf.entries, null, 2)}\n`);
    else if (shelf.entries.length === 0) io.out('The shelf is empty.\n');
    else {
      for (const { name, date, machine, stack } of shelf.entries) {
        io.out(`${name}  ${date}  ${stack.coats.map((coat) => coat.name).join(' over ')}  ${machine.name}\n`);
      }
    }
  },
  async add(path, [name], values, io) {
    if (!name) throw new UsageError('shelf add: give the name it is kept by');
    const piecePath = needs(values, 'piece', 'add');
    const { piece } = await readPieceFile(piecePath);
    const date = new Date(io.today()).toISOString().slice(0, 10);
    const entry = naming(piecePath, () =>
      shelve(piece, { name, date, cardPicture: (values['picture'] as string | undefined) ?? '' }),
    );
    await changeShelf(path, io, (opened) => putOnShelf(opened.shelf, entry).entries);
    io.out(`"${name}" is on the shelf ${path}.\n`);
  },
  async take(path, [name], values, io) {
    const piecePath = needs(values, 'piece', 'take');
    const out = needs(values, 'out', 'take');
    await io.outputs.claim(out);
    const opened = await openShelf(path, io);
    const entry = entryOf(opened, path, name);
    const file = await readPieceFile(piecePath);
    await io.outputs.write(out, encodePieceFile({ ...file, piece: takeFromShelf(file.piece, entry) }));
    io.out(`Written to ${out} with the numbers of "${entry.name}" (${entry.date}).\n`);
  },
  async compare(path, [first, second], values, io) {
    const opened = await openShelf(path, io);
    const numbers = compareEntries(entryOf(opened, path, first), entryOf(opened, path, second));
    if (values['json']) io.out(`${JSON.stringify(numbers, null, 2)}\n`);
    else {
      for (const { words, unit, first: a, second: b, apart } of numbers) {
        const sure = apart !== null && Math.abs(apart) > 2 ? '  differs' : '';
        io.out(`${words}: ${a?.toPrecision(3) ?? 'none'} and ${b?.toPrecision(3) ?? 'none'} ${unit}${sure}\n`);
      }
    }
  },
  async import(path, [from], _, io) {
    if (!from) throw new UsageError('shelf import: give the file to take in');
    await io.outputs.claim(path, PATIENCE_MS);
    const theirs = await openShelf(from, io);
    await changeShelf(path, io, (opened) => mergeShelves(opened.shelf, theirs.shelf).entries);
    io.out(`${theirs.shelf.entries.length} entries taken in, ${theirs.refused.length} refused.\n`);
  },
  async export(path, names, values, io) {
    const out = needs(values, 'out', 'export');
    await io.outputs.claim(out);
    const opened = await openShelf(path, io);
    const entries = names.length > 0 ? names.map((name) => entryOf(opened, path, name)) : opened.shelf.entries;
    await io.outputs.write(out, exportShelf({ entries }));
    io.out(`${entries.length} entries written to ${out}.\n`);
  },
  async check(path, [name, readingPath], values, io) {
    if (!readingPath)
      throw new UsageError('shelf check: give the name of the entry and the reading of its check strip');
    const entry = entryOf(await openShelf(path, io), path, name);
    const cardPath = needs(values, 'card', 'check');
    const [cardText, readingText] = [await readText(cardPath), await readText(readingPath)];
    const card = naming(cardPath, () => parseCard(cardText));
    const reading = naming(readingPath, () => parseReading(readingText));
    const drift = naming(readingPath, () => readDrift(takeFromShelf(createPiece('', ''), entry), card, reading));
    io.out(values['json'] ? `${JSON.stringify(drift, null, 2)}\n` : `${drift.words}\n`);
  },
};
