import * as z from '../../base/zod.ts';
import { parsePiece } from '../../piece/parse.ts';
import type { Piece } from '../../piece/schema.ts';
import type { PinnedProof, ProofRecord } from '../burn/proof-store.ts';
import { freshId } from '../files/fresh-id.ts';

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
