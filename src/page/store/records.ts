import * as z from '../../base/zod.ts';
import { PieceError, parsePiece } from '../../piece/file.ts';
import { lab, type Piece } from '../../piece/schema.ts';
import { cardSchema } from '../../vision/card/card.ts';
import type { PinnedProof, ProofRecord } from '../burn/proof-store.ts';
import { freshId } from '../files/save-file.ts';
import { type Database, DURABLE } from './database.ts';

/** Layout of what is kept of a piece; the piece in it has a version of its own. */
export const RECORD_FORMAT = 1;

const photoSchema = z.object({
  key: z.string(),
  name: z.string(),
  width: z.int().check(z.minimum(1)),
  height: z.int().check(z.minimum(1)),
});

/** A piece and its photograph at a moment: what is undone and redone. */
const momentSchema = z.object({
  /** JSON of the piece. */
  piece: z.string(),
  photo: z.nullable(photoSchema),
});

export type Moment = z.infer<typeof momentSchema>;

export const stepSchema = z.extend(momentSchema, { of: z.string(), step: z.int() });

export type StepRecord = z.infer<typeof stepSchema>;

const pieceSchema = z.extend(momentSchema, {
  format: z.literal(RECORD_FORMAT),
  id: z.string(),
  /** The tab that may write it. */
  owner: z.string(),
  title: z.string(),
  changedAt: z.number(),
  /** All images that the piece, its steps and its pins want. Every later format keeps this list here: by it images are let go. */
  images: z.array(z.string()),
  /** Steps of undo, the oldest first, and of redo, the next one last. */
  past: z.array(z.int()),
  future: z.array(z.int()),
  pins: z.array(z.unknown()),
});

export type PieceRecord = z.infer<typeof pieceSchema>;

const codeSchema = z.extend(momentSchema, {
  format: z.literal(RECORD_FORMAT),
  code: z.string(),
  images: z.array(z.string()),
});

export type CodeRecord = z.infer<typeof codeSchema>;

export const imageSchema = z.object({ name: z.string(), bytes: z.instanceof(Uint8Array) });

export interface ImageRecord {
  readonly name: string;
  readonly bytes: Uint8Array;
}

const leftoverSchema = z.object({ name: z.string(), title: z.string(), value: z.unknown() });

export type Leftover = z.infer<typeof leftoverSchema>;

const NEWER = 'a newer Foreburn kept it; update Foreburn to open it';

const DAMAGED = 'what the browser kept of it is damaged';

const recordOf = (value: unknown): Record<string, unknown> =>
  typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};

function check<Checked>(schema: z.ZodMiniType<Checked>, value: unknown): Checked {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const { format } = recordOf(value);
  throw new PieceError([typeof format === 'number' && format > RECORD_FORMAT ? NEWER : DAMAGED]);
}

/** What is kept of a piece, with the piece in it read. @throws PieceError with the reason if it cannot be read here. */
export function readPieceRecord(value: unknown): { readonly record: PieceRecord; readonly piece: Piece } {
  const record = check(pieceSchema, value);
  return { record, piece: parsePiece(record.piece) };
}

/** @throws PieceError with the reason. */
export function readCodeRecord(value: unknown): { readonly record: CodeRecord; readonly piece: Piece } {
  const record = check(codeSchema, value);
  return { record, piece: parsePiece(record.piece) };
}

export const readLeftovers = (values: readonly unknown[]): Leftover[] =>
  values.flatMap((value) => {
    const result = leftoverSchema.safeParse(value);
    return result.success ? [result.data] : [];
  });

/** What can be said of a record whether or not it can be read. */
export function glance(value: unknown): {
  readonly id: string;
  readonly title: string;
  readonly changedAt: number;
  readonly photoName: string | null;
  readonly images: readonly string[];
} {
  const { id, title, changedAt, photo, images } = recordOf(value);
  const { name } = recordOf(photo);
  return {
    id: String(id),
    title: typeof title === 'string' && title.trim() !== '' ? title : 'Piece without a name',
    changedAt: typeof changedAt === 'number' ? changedAt : 0,
    photoName: typeof name === 'string' ? name : null,
    images: Array.isArray(images) ? images.filter((one) => typeof one === 'string') : [],
  };
}

const keptCardSchema = z.object({ card: cardSchema, date: z.string() });

/** A card that was saved to be burned, with the day. */
export type KeptCard = z.infer<typeof keptCardSchema>;

/** With when it was kept, so that the oldest makes room. */
export type CardRecord = KeptCard & { readonly keptAt: number };

const drawingSchema = z.object({
  name: z.string(),
  card: cardSchema,
  looks: z.object({
    paint: lab,
    bare: lab,
    marks: lab,
    patches: z.record(z.string(), lab),
    lines: z.record(z.string(), z.object({ edgeMm: z.number(), equivalentMm: z.number() })),
  }),
});

/** How a card came out, to be drawn again, and the name it is kept by. */
type NamedDrawing = z.infer<typeof drawingSchema>;

export type CardDrawing = Omit<NamedDrawing, 'name'>;

export type DrawingRecord = NamedDrawing & { readonly keptAt: number };

/** Null for what cannot be read. */
export const readCard = (value: unknown): KeptCard | null => keptCardSchema.safeParse(value).data ?? null;

export const readDrawing = (value: unknown): NamedDrawing | null => drawingSchema.safeParse(value).data ?? null;

/** A pin without its pictures: those are computed again on demand. The piece is JSON, so that it is checked when it is read. */
interface PinRecord extends Omit<PinnedProof, 'record'> {
  readonly record: Omit<ProofRecord, 'piece' | 'coarse' | 'full'>;
  readonly piece: string;
}

export function pinRecord({ record, ...pin }: PinnedProof, jsonOf: (piece: Piece) => string): PinRecord {
  const { piece, coarse: _, full: __, ...kept } = record;
  return { ...pin, piece: jsonOf(piece), record: kept };
}

const derived = z.nullable(z.looseObject({}));

const pinSchema = z.object({
  id: z.string(),
  name: z.string(),
  thumbnail: z.string(),
  piece: z.string(),
  record: z.object({ photoKey: z.string(), result: derived, sure: derived, diagnosis: derived }),
});

/** One that cannot be read any more is left out; nothing of it could be computed. */
export function readPin(value: unknown): PinnedProof[] {
  const parsed = pinSchema.safeParse(value);
  if (!parsed.success) return [];
  const { piece, record, ...pin } = parsed.data;
  try {
    const kept = {
      ...(record as unknown as ProofRecord),
      id: freshId('kept'),
      status: 'waiting',
      fault: null,
    } as const;
    return [{ ...pin, record: { ...kept, piece: parsePiece(piece), coarse: null, full: null } }];
  } catch {
    return [];
  }
}

/**
 * Lets go of images that nothing wants any more. It asks in the transaction that deletes them, and every record comes in one transaction
 * with its images, so none can be taken from under a record. A browser killed before leaves images that the next sweep finds.
 */
export async function sweepImages(database: Database): Promise<void> {
  const transaction = database.transaction(['pieces', 'codes', 'images'], 'readwrite', DURABLE);
  const images = transaction.objectStore('images');
  const wanting = [transaction.objectStore('pieces').index('images'), transaction.objectStore('codes').index('images')];
  for (const name of await images.getAllKeys()) {
    const counts = await Promise.all(wanting.map((index) => index.count(name)));
    if (counts.every((count) => count === 0)) await images.delete(name);
  }
  await transaction.done;
}
