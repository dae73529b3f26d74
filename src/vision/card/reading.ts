import { fitProblems, InputError } from '../../base/input-error.ts';
import { checkDocument, parseJson } from '../../base/json-document.ts';
import * as z from '../../base/zod.ts';
import { lab, number, text, whole } from '../../piece/fields.ts';
import { CARD_KINDS } from './card.ts';

const deviation = number(0.000001, 1000);

/** What was read off a card. Deviations are standard deviations of the reading alone. */
export const readingSchema = z.strictObject({
  format: z.literal('foreburn-reading'),
  version: z.literal(1),
  kind: z.enum(CARD_KINDS),
  cardId: whole(0, 65535),
  how: z.enum(['eye', 'photo']),
  patches: z.array(
    z.strictObject({
      id: text,
      lab,
      /** Of L* and of b*. */
      deviation,
      /** Standard deviation of L* over the patch, slow enough to be seen. */
      mottle: number(0, 100),
    }),
  ),
  /** By eye: the set power (share of full) from which something is so lies between two. */
  firsts: z.array(
    z.strictObject({
      what: z.enum(['shows', 'clears', 'scorches']),
      /** The patch whose settings but the last burn's power hold. */
      patch: text,
      lowPower: number(0, 1),
      highPower: number(0.0001, 1),
    }),
  ),
  lines: z.array(
    z.strictObject({
      id: text,
      /** `edge` as an eye sees it, `equivalent` as a photograph tells it. */
      measure: z.enum(['edge', 'equivalent']),
      widthMm: number(0, 20),
      deviation,
    }),
  ),
  /** How far rows burned backwards land from where they should. */
  rowOffset: z.nullable(z.strictObject({ mm: number(-5, 5), deviation })),
});

export type CardReading = z.infer<typeof readingSchema>;

export class ReadingError extends InputError {}

/** @throws ReadingError for damaged JSON, another kind of file or a newer version. */
export function parseReading(textOf: string): CardReading {
  const json = parseJson(textOf, refuse);
  const { format, version } = (json ?? {}) as { format?: unknown; version?: unknown };
  if (format !== 'foreburn-reading')
    throw new ReadingError('this is not a reading: it lacks "format": "foreburn-reading"');
  if (typeof version === 'number' && version > 1) {
    throw new ReadingError('the reading was made by a newer Foreburn; update Foreburn to use it');
  }
  return checkDocument(readingSchema, json, 'the reading', refuse);
}

const refuse = (problems: readonly string[], count: number): ReadingError =>
  new ReadingError(`the reading is damaged: ${fitProblems(problems, count).join('; ')}`);
