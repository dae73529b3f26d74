import { cut, fitProblems, InputError, LIMITS } from '../../../base/input-error.ts';
import { checkDocument, parseJson, show } from '../../../base/json-document.ts';
import { sumOf } from '../../../base/sum-of.ts';
import * as z from '../../../base/zod.ts';
import { createPiece } from '../../../piece/defaults.ts';
import { withOpticalDepths, withTouchedSkin } from '../../../piece/migrations.ts';
import {
  certaintySchema,
  type FromShelf,
  heatSchema,
  machineSchema,
  number,
  type Piece,
  stackSchema,
  text,
} from '../../../piece/schema.ts';
import { parametersOf } from '../../sure/spread.ts';

/** A calibrated stack on a machine, as it is kept for later pieces. */
const shelfEntrySchema = z.strictObject({
  /** Stays the same when the entry is renamed or calibrated anew. */
  id: text.check(z.minLength(1)),
  name: text.check(z.minLength(1)),
  /** The day it was calibrated, as the maker's clock had it: YYYY-MM-DD. */
  date: text.check(z.regex(/^\d{4}-\d{2}-\d{2}$/, { error: 'a day like 2031-05-02' })),
  /** Where the picture of its card is kept; empty if none is. */
  cardPicture: text,
  note: z.string().check(z.maxLength(2000)),
  stack: stackSchema,
  machine: machineSchema,
  heat: heatSchema,
  certainty: certaintySchema,
  /** How far rows burned backwards land from where they should, mm. */
  rowOffsetErrorMm: number(-5, 5),
});

export type ShelfEntry = z.infer<typeof shelfEntrySchema>;

interface Shelf {
  readonly entries: readonly ShelfEntry[];
}

export const EMPTY_SHELF: Shelf = { entries: [] };

const SHELF_VERSION = 1;

class ShelfError extends InputError {}

/** What of a piece goes on the shelf. @throws ShelfError if it is not calibrated. */
export function shelve(
  piece: Piece,
  label: { readonly name: string; readonly date: string; readonly cardPicture?: string; readonly note?: string },
): ShelfEntry {
  if (piece.certainty.source !== 'calibrated') {
    throw new ShelfError('only calibrated numbers go on the shelf: burn a card, read it and fit it first');
  }
  const entry = {
    id: sumOf([label.name, label.date, piece.stack, piece.machine, piece.heat, piece.certainty]),
    name: label.name,
    date: label.date,
    cardPicture: label.cardPicture ?? '',
    note: label.note ?? '',
    stack: piece.stack,
    machine: piece.machine,
    heat: piece.heat,
    certainty: piece.certainty,
    rowOffsetErrorMm: piece.passes[0].rowOffsetErrorMm,
  };
  return checkEntry(entry, 'the entry cannot be kept');
}

const checkEntry = (entry: unknown, said: string): ShelfEntry =>
  checkDocument(
    shelfEntrySchema,
    broughtUp(entry),
    'the entry',
    (problems, count) => new ShelfError(`${said}: ${fitProblems(problems, count).join('; ')}`),
  );

/** Entries kept before coats told how deep the beam goes and what touched skin takes up, and before pieces referred to them. */
const broughtUp = (entry: unknown): unknown =>
  typeof entry === 'object' && entry !== null && 'stack' in entry && 'name' in entry
    ? { id: entry.name, ...entry, stack: withTouchedSkin(withOpticalDepths(entry.stack)) }
    : entry;

/** How a piece refers to an entry whose numbers it has. */
export const referTo = ({ id, name, stack, machine, heat, certainty, rowOffsetErrorMm }: ShelfEntry): FromShelf => ({
  id,
  name,
  sum: sumOf([stack, machine, heat, certainty, rowOffsetErrorMm]),
});

/**
 * The piece with stack and machine from the shelf; slab, picture and passes stay, but for the offset of backward rows. A film that was measured belongs
 * to the slab that it lies on.
 */
export const takeFromShelf = (piece: Piece, entry: ShelfEntry): Piece => ({
  ...piece,
  stack: { ...entry.stack, film: { ...entry.stack.film, found: piece.stack.film.found } },
  machine: entry.machine,
  heat: entry.heat,
  certainty: entry.certainty,
  shelfEntry: referTo(entry),
  passes: piece.passes.map((pass) => ({ ...pass, rowOffsetErrorMm: entry.rowOffsetErrorMm })),
});

/** Puts an entry on the shelf, in place of one of the same name. */
export const putOnShelf = (shelf: Shelf, entry: ShelfEntry): Shelf => mergeShelves(shelf, { entries: [entry] });

/** The shelf as a file. */
export const exportShelf = (shelf: Shelf): string =>
  `${JSON.stringify({ format: 'foreburn-shelf', version: SHELF_VERSION, entries: shelf.entries }, null, 2)}\n`;

export interface ImportedShelf {
  readonly shelf: Shelf;
  /** What was refused, and why. */
  readonly refused: readonly { readonly name: string; readonly reason: string }[];
}

/**
 * Reads a shelf file. An entry that is damaged is left out and named; the others come in.
 * @throws ShelfError if the file as a whole is damaged, something else, or newer.
 */
export function importShelf(fileText: string): ImportedShelf {
  const json = parseJson(fileText, ([reason]) => new ShelfError(`the shelf is damaged: ${reason}`));
  const { format, version, entries } = (json ?? {}) as { format?: unknown; version?: unknown; entries?: unknown };
  if (format !== 'foreburn-shelf') throw new ShelfError('this is not a shelf: it lacks "format": "foreburn-shelf"');
  if (typeof version === 'number' && version > SHELF_VERSION) {
    throw new ShelfError(
      `the shelf was saved by a newer Foreburn (version ${show(version)}); update Foreburn to open it`,
    );
  }
  if (version !== SHELF_VERSION) {
    throw new ShelfError(`the shelf is damaged: version: must be ${SHELF_VERSION}, got ${show(version)}`);
  }
  if (!Array.isArray(entries)) throw new ShelfError('the shelf is damaged: it has no list of entries');
  const good = new Map<string, ShelfEntry>();
  const refused: { name: string; reason: string }[] = [];
  entries.forEach((one: unknown, i) => {
    const named = (one as { name?: unknown } | null)?.name;
    const name = typeof named === 'string' ? cut(named, LIMITS.quoted) : `entry ${i + 1}`;
    try {
      const entry = checkEntry(one, 'damaged');
      if (good.has(entry.name)) throw new ShelfError('there is another entry of this name before it');
      good.set(entry.name, entry);
    } catch (error) {
      if (!(error instanceof ShelfError)) throw error;
      refused.push({ name, reason: error.message });
    }
  });
  return { shelf: { entries: [...good.values()] }, refused };
}

/** Both shelves in one; entries of the second win, and take over what pieces refer to those of the same name by. */
export function mergeShelves(ours: Shelf, theirs: Shelf): Shelf {
  const byName = new Map(ours.entries.map((entry) => [entry.name, entry]));
  for (const entry of theirs.entries) byName.set(entry.name, { ...entry, id: byName.get(entry.name)?.id ?? entry.id });
  return { entries: [...byName.values()].sort((a, b) => (a.name < b.name ? -1 : 1)) };
}

/** What has changed since a calibration. */
export interface Changes {
  /** Another tin of the same paint. */
  readonly batch: boolean;
  /** Lens cleaned, tube or head changed, mirrors set. */
  readonly machine: boolean;
}

/** How far a new batch's coats, and a serviced machine, may lie from the old: standard deviations of logarithms (estimates). */
const BATCH_DEVIATION = 0.1;

const MACHINE_DEVIATION = 0.1;

/**
 * A calibrated piece whose older evidence is to weigh less: the covariance grows by what may have changed, and a new fit that starts from it
 * listens to its own card all the more. Without changes the piece itself.
 */
export function ageCalibration(piece: Piece, { batch, machine }: Changes): Piece {
  const { covariance } = piece.certainty;
  if (!covariance || !(batch || machine)) return piece;
  const known = new Set(parametersOf(piece).map(({ name }) => name));
  const matrix = covariance.matrix.map((row, i) =>
    row.map((value, j) => {
      if (i !== j || !known.has(covariance.names[i])) return value;
      const ofCoat = covariance.names[i].startsWith('coat');
      const more = ofCoat ? (batch ? BATCH_DEVIATION : 0) : machine ? MACHINE_DEVIATION : 0;
      return value + more * more;
    }),
  );
  const power = machine ? Math.hypot(piece.certainty.power, MACHINE_DEVIATION) : piece.certainty.power;
  return { ...piece, certainty: { ...piece.certainty, power, covariance: { ...covariance, matrix } } };
}

interface ComparedNumber {
  readonly name: string;
  readonly words: string;
  readonly unit: string;
  readonly first: number | null;
  readonly second: number | null;
  /** Second over first. */
  readonly ratio: number | null;
  /** Difference of the logarithms over their deviations together; beyond 2 they differ for sure. Null where nothing is known. */
  readonly apart: number | null;
}

/** Two entries, number by number. */
export function compareEntries(first: ShelfEntry, second: ShelfEntry): ComparedNumber[] {
  const [a, b] = [first, second].map((entry) => takeFromShelf(createPiece('', ''), entry));
  const [inA, inB] = [a, b].map(
    (piece) => new Map(parametersOf(piece).map((parameter) => [parameter.name, parameter])),
  );
  return [...new Set([...inA.keys(), ...inB.keys()])].map((name) => {
    const { words, unit } = (inA.get(name) ?? inB.get(name))!;
    const one = inA.get(name)?.get(a) ?? null;
    const other = inB.get(name)?.get(b) ?? null;
    const ratio = one !== null && other !== null && one > 0 ? other / one : null;
    const spread = Math.hypot(deviationOf(a, name), deviationOf(b, name));
    return {
      name,
      words,
      unit,
      first: one,
      second: other,
      ratio,
      apart: ratio && spread > 0 ? Math.log(ratio) / spread : null,
    };
  });
}

function deviationOf({ certainty }: Piece, name: string): number {
  const at = certainty.covariance?.names.indexOf(name) ?? -1;
  return at < 0 ? 0 : Math.sqrt(certainty.covariance!.matrix[at][at]);
}
