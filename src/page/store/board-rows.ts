import { breathe } from '../../base/stop.ts';
import { sumOf } from '../../base/sum-of.ts';
import * as z from '../../base/zod.ts';
import { burnFrame } from '../../piece/frame.ts';
import { lab, ORDER_STATES, type Piece } from '../../piece/schema.ts';
import { type Foretold, type Summary, summaryOf } from '../../shop/summary.ts';
import { type Database, DURABLE } from './database.ts';
import { glance, type PieceRecord, readPieceRecord } from './records.ts';

/** Layout of a row; one of another layout is made anew from its piece. */
const ROW_FORMAT = 1;

const faceSchema = z.object({
  /** Sides of the slab, mm. */
  widthMm: z.number(),
  heightMm: z.number(),
  shape: z.enum(['oval', 'rectangle', 'outline']),
  /** Corners of a drawn outline, shares of the box round it; fewer than there are. */
  outline: z.array(z.tuple([z.number(), z.number()])),
  /** What lies on top of it. */
  colorLab: lab,
  /** Where the picture lies, shares of the slab's box. */
  picture: z.object({ left: z.number(), top: z.number(), width: z.number(), height: z.number() }),
  isRound: z.boolean(),
});

/** What a small picture of a piece is made of, beside its proof or its photograph. */
export type PieceFace = z.infer<typeof faceSchema>;

const summarySchema = z.looseObject({
  name: z.string(),
  client: z.string(),
  order: z.object({ dueOn: z.nullable(z.string()), state: z.enum(ORDER_STATES), quantity: z.number() }),
  paints: z.array(z.looseObject({ name: z.string() })),
  shelfEntry: z.nullable(z.object({ id: z.string(), name: z.string(), sum: z.string() })),
});

const rowSchema = z.object({
  format: z.literal(ROW_FORMAT),
  id: z.string(),
  title: z.string(),
  changedAt: z.number(),
  photo: z.nullable(z.object({ key: z.string(), name: z.string() })),
  fault: z.null(),
  /** Null only where the piece cannot be read. */
  summary: z.nullable(summarySchema),
  face: z.nullable(faceSchema),
  burns: z.string(),
  whole: z.string(),
});

/** A kept piece in the list of all of them: small, so that the list is read without reading a piece. */
export interface Listed {
  readonly format: typeof ROW_FORMAT;
  readonly id: string;
  readonly title: string;
  readonly changedAt: number;
  readonly photo: { readonly key: string; readonly name: string } | null;
  /** Why it cannot be read here; null if it can. */
  readonly fault: string | null;
  /** Null where it cannot be read. */
  readonly summary: Summary | null;
  readonly face: PieceFace | null;
  /** The same as long as it burns alike, and as long as nothing of it changes. */
  readonly burns: string;
  readonly whole: string;
}

/** Parts of a piece that burn nothing. Nor does what the wood looks like on a photograph, or how programs are worded. */
export const BURN_NOTHING = [
  'name',
  'quote',
  'order',
  'log',
  'placement',
  'shelfEntry',
] as const satisfies (keyof Piece)[];

/** Stands for all of a piece that burns, and its photograph: the same as long as a proof of it holds. */
export function burnsKey(piece: Piece, photoKey: string | null): string {
  const { slab, machine } = piece;
  const burning = {
    ...piece,
    ...Object.fromEntries([...BURN_NOTHING, 'format', 'version'].map((name) => [name, null])),
    slab: { ...slab, photo: null },
    machine: { ...machine, control: machine.control.correctRowOffset },
  };
  return sumOf([photoKey, burning]);
}

/** Stands for a piece with its photograph, however often it is read in. */
export const wholeKey = (piece: Piece, photoKey: string | null): string => sumOf([photoKey, piece]);

const MOST_CORNERS = 48;

function faceOf(piece: Piece, photo: { width: number; height: number } | null): PieceFace {
  const { slab, stack, picture } = piece;
  const { widthMm, heightMm, outlineMm } = slab;
  const frame = burnFrame(piece, photo ?? { width: 4, height: 3 });
  const every = Math.ceil(outlineMm.length / MOST_CORNERS);
  return {
    widthMm,
    heightMm,
    shape: slab.shape,
    outline: outlineMm
      .filter((_, i) => i % every === 0)
      .map(([x, y]): [number, number] => [0.5 + x / widthMm, 0.5 + y / heightMm]),
    colorLab: [...(stack.coats[0]?.colorLab ?? slab.wood.colorLab)],
    picture: {
      left: 0.5 + (picture.offsetXMm - frame.widthMm / 2) / widthMm,
      top: 0.5 + (picture.offsetYMm - frame.heightMm / 2) / heightMm,
      width: frame.widthMm / widthMm,
      height: frame.heightMm / heightMm,
    },
    isRound: picture.crop === 'oval',
  };
}

/** The row of a piece; whoever keeps the piece keeps it in the same transaction. */
export function rowOf({ id, title, changedAt, photo }: PieceRecord, piece: Piece): Listed {
  const key = photo?.key ?? null;
  return {
    format: ROW_FORMAT,
    id,
    title: glance({ title }).title,
    changedAt,
    photo: photo && { key: photo.key, name: photo.name },
    fault: null,
    summary: summaryOf(piece, null),
    face: faceOf(piece, photo),
    burns: burnsKey(piece, key),
    whole: wholeKey(piece, key),
  };
}

/** The row of whatever is kept there. */
function rowOfValue(value: unknown): Listed {
  try {
    const { record, piece } = readPieceRecord(value);
    return rowOf(record, piece);
  } catch (error) {
    const { id, title, changedAt, photoName } = glance(value);
    const fault = (error as Error).message;
    const photo = photoName === null ? null : { key: '', name: photoName };
    return { format: ROW_FORMAT, id, title, changedAt, photo, fault, summary: null, face: null, burns: '', whole: '' };
  }
}

/** Nothing stops it, but what the maker does meanwhile comes first. */
const UNSTOPPED = new AbortController().signal;

/**
 * All kept pieces, the one that was changed last first, whether or not they can be read. Pieces are read only where there is no row of them yet
 * (an earlier page kept them), one at a time.
 */
export async function listPieces(database: Database): Promise<readonly Listed[]> {
  const rows = new Map<string, Listed>();
  for (const value of await database.getAll('board')) {
    await breathe(UNSTOPPED);
    const parsed = rowSchema.safeParse(value);
    if (parsed.success) rows.set(parsed.data.id, parsed.data as unknown as Listed);
  }
  const ids = new Set((await database.getAllKeys('pieces')).map(([id]) => id));
  for (const id of ids) {
    if (rows.has(id)) continue;
    const row = await makeRow(database, id);
    if (row) rows.set(id, row);
  }
  return [...rows.values()].filter(({ id }) => ids.has(id)).sort((a, b) => b.changedAt - a.changedAt);
}

async function makeRow(database: Database, id: string): Promise<Listed | null> {
  const transaction = database.transaction(['pieces', 'board'], 'readwrite');
  const value = await transaction.objectStore('pieces').index('id').get(id);
  const row = value === undefined ? null : rowOfValue(value);
  // What cannot be read now may be readable to the next version.
  if (row?.fault === null) await transaction.objectStore('board').put(row);
  await transaction.done;
  return row;
}

/** Has the row made anew when it is asked for: what is kept of the piece is not as it was when the row was made. */
export const forgetRow = (database: Database, id: string): Promise<void> => database.delete('board', id);

/** What computing a piece told, a small picture of it, and for what of the piece both hold. */
export interface ProofRow {
  readonly format: typeof ROW_FORMAT;
  readonly id: string;
  readonly burns: string;
  readonly foretold: Foretold;
  /** Data URL of the picture as it comes out. */
  readonly thumbnail: string;
}

const proofRowSchema = z.object({
  format: z.literal(ROW_FORMAT),
  id: z.string(),
  burns: z.string(),
  foretold: z.object({ passSeconds: z.array(z.number()), verdict: z.string(), accepted: z.number() }),
  thumbnail: z.string().check(z.regex(/^(data:image\/[a-z]+;base64,[\w+/=]*)?$/)),
});

/** What was computed of kept pieces, by their ids. What belongs to no piece any more goes, but for the one on the table: it may not be kept yet. */
export async function listProofs(
  database: Database,
  ids: ReadonlySet<string>,
  onTable: string,
): Promise<ReadonlyMap<string, ProofRow>> {
  const rows = new Map<string, ProofRow>();
  for (const value of await database.getAll('foretold')) {
    await breathe(UNSTOPPED);
    const parsed = proofRowSchema.safeParse(value);
    if (parsed.success && ids.has(parsed.data.id)) rows.set(parsed.data.id, parsed.data);
  }
  for (const id of await database.getAllKeys('foretold')) {
    if (!ids.has(id) && id !== onTable) await database.delete('foretold', id);
  }
  return rows;
}

/** What was computed of one piece; null where nothing was. */
export const proofKept = async (database: Database, id: string): Promise<ProofRow | null> =>
  proofRowSchema.safeParse(await database.get('foretold', id)).data ?? null;

export async function keepProof(database: Database, proof: Omit<ProofRow, 'format'>): Promise<void> {
  const row: ProofRow = { format: ROW_FORMAT, ...proof };
  const transaction = database.transaction('foretold', 'readwrite', DURABLE);
  await Promise.all([transaction.store.put(row), transaction.done]);
}
