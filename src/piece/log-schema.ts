import * as z from '../base/zod.ts';
import { number, text } from './fields.ts';

export const LOG_OUTCOMES = ['good', 'blotchy', 'too-dark', 'scorched', 'other'] as const;

/**
 * What was burned, in the words of the maker. `passes` are the settings of that day; the schema of a pass is handed in, because it
 * is part of the piece's.
 */
export const logEntrySchema = <Pass extends z.core.$ZodType>(pass: Pass) =>
  z.strictObject({
    /** ISO 8601, with the time zone. */
    burnedAt: z
      .string()
      .check(z.maxLength(40), z.regex(/^\d{4}-\d{2}-\d{2}T/, { error: 'a date and time (ISO 8601)' })),
    passes: z.array(pass).check(z.minLength(1), z.maxLength(12)),
    /** The machine's files and their SHA-256, hexadecimal; empty where none was written. */
    files: z
      .array(
        z.strictObject({
          name: text,
          sha256: z.string().check(z.regex(/^[0-9a-f]{64}$/, { error: 'a SHA-256 of 64 figures' })),
        }),
      )
      .check(z.maxLength(24)),
    minutes: number(0, 1e6),
    outcome: z.enum(LOG_OUTCOMES),
    note: z.string().check(z.maxLength(2000)),
    /** Name of a picture of it inside the piece file. */
    photo: z.nullable(text),
  });
