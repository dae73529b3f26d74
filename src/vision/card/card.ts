import { fitProblems, InputError } from '../../base/input-error.ts';
import { checkDocument, parseJson } from '../../base/json-document.ts';
import * as z from '../../base/zod.ts';
import { powerAt } from '../../physics/beam/gaussian.ts';
import { number, screenMethodSchema, share, text, whole } from '../../piece/schema.ts';

/** The kinds of card, in the order of their code; a number once given to a kind stays its own. */
export const CARD_KINDS = ['step-wedge', 'swatch', 'lines', 'tones', 'second-pass', 'check-strip'] as const;

export type CardKind = (typeof CARD_KINDS)[number];

/** A rectangle of the card, mm from its left top corner, y downwards. */
const box = z.strictObject({
  xMm: number(0, 1000),
  yMm: number(0, 1000),
  widthMm: number(0, 1000),
  heightMm: number(0, 1000),
});

/** One pass over a patch or line. */
const burn = z.strictObject({
  /** Set power at the light and at the dark end, and the patch's lightness between them, 0–1. */
  lightEndPower: share,
  darkEndPower: share,
  lightness: share,
  screen: screenMethodSchema,
  serpentine: z.boolean(),
  feedMmPerS: number(0.1, 10000),
  rowPitchMm: number(0.01, 5),
  headingRad: number(0, 2 * Math.PI),
  focusOffsetMm: number(-100, 100),
});

const patch = z.strictObject({
  id: text,
  /** Burned beside it. */
  label: text,
  box,
  /** One after another, cold in between. */
  burns: z.array(burn).check(z.minLength(1), z.maxLength(3)),
  /** What is known of how warm each burn finds the work: K for a share of 1 of the heat that stays. */
  warmthPerShareK: z.array(number(0, 10000)).check(z.maxLength(3)),
});

const line = z.strictObject({ id: text, label: text, box, burn });

/** Strokes of both directions of a two-way pass; the pair that lines up tells the offset. */
const vernier = z.strictObject({
  box,
  teeth: whole(3, 60),
  pitchMm: number(0.2, 20),
  /** How much further apart the backward strokes are, mm; the middle pair lines up without an offset. */
  stepMm: number(0.005, 1),
  burn,
});

/** A card: everything needed to burn it, to picture it, to find it again in a photograph and to read it. */
export const cardSchema = z.strictObject({
  format: z.literal('foreburn-card'),
  version: z.literal(1),
  kind: z.enum(CARD_KINDS),
  /** Burned in as a code; from the settings, so that a card of another piece is told. */
  id: whole(0, 65535),
  widthMm: number(30, 400),
  heightMm: number(20, 400),
  /** Row pitch of its picture, mm. */
  pitchMm: number(0.01, 5),
  /** Settings of marks, labels and code. */
  marking: burn,
  /** A place for the bare undercoat (taped off when the top coat is laid) or a grey chip. */
  reference: box,
  patches: z.array(patch).check(z.maxLength(400)),
  /** Rows of patches by rising power or tone, as ids: what is asked of the eye. */
  ladders: z
    .array(z.strictObject({ name: text, patches: z.array(text).check(z.maxLength(400)) }))
    .check(z.maxLength(100)),
  lines: z.array(line).check(z.maxLength(100)),
  vernier: z.nullable(vernier),
});

export type Card = z.infer<typeof cardSchema>;

export type CardBox = z.infer<typeof box>;

export type CardBurn = z.infer<typeof burn>;

export type CardPatch = z.infer<typeof patch>;

export type CardLine = z.infer<typeof line>;

/** Set power of a burn in continuous tone, share of full power. */
export const powerOf = (burn: CardBurn): number => powerAt(burn, 255 * burn.lightness);

export class CardError extends InputError {}

/** @throws CardError for damaged JSON, another kind of file or a newer version. */
export function parseCard(textOf: string): Card {
  const json = parseJson(textOf, refuse);
  const { format, version } = (json ?? {}) as { format?: unknown; version?: unknown };
  if (format !== 'foreburn-card') throw new CardError('this is not a card: it lacks "format": "foreburn-card"');
  if (typeof version === 'number' && version > 1) {
    throw new CardError('the card was made by a newer Foreburn; update Foreburn to read it');
  }
  return checkDocument(cardSchema, json, 'the card', refuse);
}

const refuse = (problems: readonly string[], count: number): CardError =>
  new CardError(`the card is damaged: ${fitProblems(problems, count).join('; ')}`);

/** Everything a card has at fixed places. Whole millimetres, because a pass burns where tiles of a millimetre say. */
export const EDGE_MM = 2;

/** A corner mark: a light square ring round a light square; sides of the ring, its dark inside and the inner square, mm. */
export const MARK_MM = 6;

export const MARK_INSIDE_MM = 3.6;

export const MARK_MIDDLE_MM = 2;

/** Squares of the code between the upper marks: 3 for the kind, 16 for the id, 5 to check. */
export const CODE_BITS = 24;

const CODE_SQUARE_MM = 1.6;

/** Where patches and lines may lie: below the upper marks and above the lower ones. */
export const INNER_TOP_MM = EDGE_MM + MARK_MM + 2;

export const SMALLEST_CARD_MM = { width: 58, height: 36 };

/** Middles of the corner marks, clockwise from the left top, mm. */
export const markCentres = ({ widthMm, heightMm }: Pick<Card, 'widthMm' | 'heightMm'>): [number, number][] => {
  const inset = EDGE_MM + MARK_MM / 2;
  return [
    [inset, inset],
    [widthMm - inset, inset],
    [widthMm - inset, heightMm - inset],
    [inset, heightMm - inset],
  ];
};

/** Where square `bit` of the code lies. */
export function codeBox({ widthMm }: Pick<Card, 'widthMm'>, bit: number): CardBox {
  const left = (widthMm - CODE_BITS * CODE_SQUARE_MM) / 2;
  const size = CODE_SQUARE_MM;
  return { xMm: left + bit * size, yMm: EDGE_MM + (MARK_MM - size) / 2, widthMm: size, heightMm: size };
}

/** The bits of a card's code: kind, id and a sum that tells misreading. The ends differ, so that a card upside down is no card. */
export function codeBits(kind: Card['kind'], id: number): boolean[] {
  const value = CARD_KINDS.indexOf(kind) * 65536 + id;
  const bits = Array.from({ length: 19 }, (_, i) => ((value >> i) & 1) === 1);
  const check = checkOf(value);
  for (let i = 0; i < 5; i++) bits.push(((check >> i) & 1) === 1);
  return bits;
}

/** What a code says; null if its sum is wrong. */
export function readCode(bits: readonly boolean[]): { kind: Card['kind']; id: number } | null {
  let value = 0;
  for (let i = 0; i < 19; i++) if (bits[i]) value |= 1 << i;
  let check = 0;
  for (let i = 0; i < 5; i++) if (bits[19 + i]) check |= 1 << i;
  const kind = CARD_KINDS[value >> 16];
  return kind && check === checkOf(value) ? { kind, id: value & 65535 } : null;
}

/** Remainder by a prime below 32, moved on so that an empty code is none. */
const checkOf = (value: number): number => ((value % 29) + 2) % 32;

/** A number of 16 bits from text (FNV-1a, folded): what makes a card another card. */
export function hash16(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193) >>> 0;
  return (hash ^ (hash >>> 16)) & 65535;
}
