import * as z from '../base/zod.ts';
import { number, share, text, whole } from './fields.ts';

/**
 * One of the things a client may choose between: how large the picture is and how many of the piece's passes are burned. Null: as the piece
 * has it.
 */
export const quoteOptionSchema = z.strictObject({
  name: text,
  pictureWidthMm: z.nullable(number(1, 3000)),
  passes: z.nullable(whole(1, 12)),
  slabCost: number(0, 1e7),
  handworkMinutes: number(0, 100000),
});

export const QUOTE_LANGUAGES = ['en', 'de', 'fr', 'es', 'it', 'nl'] as const;

/** What the maker charges; money in the currency's own unit. */
export const quoteSchema = z.strictObject({
  workshop: text,
  client: text,
  note: z.string().check(z.maxLength(2000)),
  /** ISO 4217 code. */
  currency: z.string().check(z.regex(/^[A-Z]{3}$/, { error: 'a currency code of three capital letters, like EUR' })),
  language: z.enum(QUOTE_LANGUAGES),
  machinePerHour: number(0, 1e6),
  handworkPerHour: number(0, 1e6),
  paintPerLitre: number(0, 1e6),
  /** Share of the paint that does not end up on the slab. */
  paintLoss: number(0, 0.95),
  extraCost: number(0, 1e7),
  /** On top of the costs, share of them; tax on top of both. */
  margin: number(0, 10),
  tax: share,
  validDays: whole(1, 3650),
  options: z.array(quoteOptionSchema).check(z.minLength(1), z.maxLength(4)),
});

export type QuoteOption = z.infer<typeof quoteOptionSchema>;
export type QuoteSettings = z.infer<typeof quoteSchema>;
export type QuoteLanguage = (typeof QUOTE_LANGUAGES)[number];

/** Rates are placeholders that the maker replaces. */
export const DEFAULT_QUOTE: QuoteSettings = {
  workshop: '',
  client: '',
  note: '',
  currency: 'EUR',
  language: 'en',
  machinePerHour: 20,
  handworkPerHour: 35,
  paintPerLitre: 40,
  paintLoss: 0.3,
  extraCost: 0,
  margin: 0.25,
  tax: 0.2,
  validDays: 30,
  options: [{ name: 'As shown', pictureWidthMm: null, passes: null, slabCost: 18, handworkMinutes: 60 }],
};
