import * as z from '../../base/zod.ts';
import { PieceError, parsePiece } from '../../piece/parse.ts';
import type { Piece } from '../../piece/schema.ts';

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
