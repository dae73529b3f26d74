import { fitProblems, InputError } from '../../base/input-error.ts';
import { checkDocument, parseJson } from '../../base/json-document.ts';
import * as z from '../../base/zod.ts';
import { lab, number, type Pass, type Piece, text, whole } from '../../piece/schema.ts';
import { CARD_KINDS, type Card, CardError, hash16, powerOf, SMALLEST_CARD_MM } from './card.ts';
import { evenBurn } from './make-card.ts';

const deviation = number(0.000001, 1000);

/** What was read off a card. Deviations are standard deviations of the reading alone. */
const readingSchema = z.strictObject({
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

/** What an eye saw on one ladder: the first patch of which it is so, as its label; null if none. */
export interface LadderSeen {
  /** Name of the ladder; the first one if left out. */
  readonly ladder?: string;
  readonly shows: number | null;
  readonly clears: number | null;
  readonly scorches: number | null;
}

export interface EyeNotes {
  readonly ladders: readonly LadderSeen[];
  /** Widths of lines in mm, by the line's id; 0 for one that does not show. */
  readonly widths: Readonly<Record<string, number>>;
  /** Vernier: which pair of strokes lines up, counted from the left, 1 the first; null if it was not read. */
  readonly pair: number | null;
}

/** A width read with a loupe and a ruler of tenths (estimate). */
const WIDTH_DEVIATION_MM = 0.02;

/**
 * Turns what was seen into what it says: the power from which something is so lies between the patch before and the first one.
 * @throws ReadingError for labels that the card does not have and for nonsense: cleared before it shows, scorched before it clears.
 */
export function readByEye(card: Card, notes: EyeNotes): CardReading {
  const firsts: CardReading['firsts'] = [];
  for (const seen of notes.ladders) {
    const ladder = seen.ladder ? card.ladders.find(({ name }) => name === seen.ladder) : card.ladders[0];
    if (!ladder) throw new ReadingError(`this card has no row of patches called "${seen.ladder ?? ''}"`);
    const steps = ladder.patches.map((id) => card.patches.find((patch) => patch.id === id)!);
    checkOrder(seen);
    for (const what of ['shows', 'clears', 'scorches'] as const) {
      const label = seen[what];
      if (label === null) continue;
      const at = steps.findIndex((patch) => patch.label === String(label));
      if (at < 0) {
        throw new ReadingError(
          `there is no patch ${label} in "${ladder.name}"; it has ${steps[0].label} to ${steps[steps.length - 1].label}`,
        );
      }
      const power = (i: number) => powerOf(steps[i].burns[steps[i].burns.length - 1]);
      firsts.push({ what, patch: steps[at].id, lowPower: at > 0 ? power(at - 1) : 0, highPower: power(at) });
    }
  }
  const lines = Object.entries(notes.widths).map(([id, widthMm]) => {
    if (!card.lines.some((line) => line.id === id)) throw new ReadingError(`this card has no line "${id}"`);
    if (!(widthMm >= 0 && widthMm <= 5)) throw new ReadingError(`line ${id}: a width from 0 to 5 mm, got ${widthMm}`);
    return { id, measure: 'edge' as const, widthMm, deviation: WIDTH_DEVIATION_MM };
  });
  const reading: CardReading = {
    format: 'foreburn-reading',
    version: 1,
    kind: card.kind,
    cardId: card.id,
    how: 'eye',
    patches: [],
    firsts,
    lines,
    rowOffset: notes.pair === null ? null : offsetOfPair(card, notes.pair),
  };
  if (firsts.length === 0 && lines.length === 0 && !reading.rowOffset) {
    throw new ReadingError(
      'nothing was read: name at least the first patch that shows or clears, or the width of a line',
    );
  }
  return reading;
}

/** Labels rise with power, so what comes later in the burn must not come at a lower one. */
function checkOrder({ shows, clears, scorches }: LadderSeen): void {
  if (shows !== null && clears !== null && clears < shows) {
    throw new ReadingError(
      `patch ${clears} cannot be clear when the first that shows is ${shows}: paint shows before it clears. Check the labels, or read the card the other way round`,
    );
  }
  const before = clears ?? shows;
  if (scorches !== null && before !== null && scorches < before) {
    throw new ReadingError(
      `patch ${scorches} cannot scorch before patch ${before}${clears === null ? ' shows' : ' is clear'}: the undercoat is still covered there. Check the labels`,
    );
  }
}

/** Offset of backward rows that makes a pair of the vernier line up, half a step either way. */
export function offsetOfPair({ vernier }: Card, pair: number): NonNullable<CardReading['rowOffset']> {
  if (!vernier) throw new ReadingError('this card has no vernier');
  if (!(Number.isInteger(pair) && pair >= 1 && pair <= vernier.teeth)) {
    throw new ReadingError(`the vernier has pairs 1 to ${vernier.teeth}, got ${pair}`);
  }
  // The backward stroke of pair k lies k steps further out: an offset of minus that brings it back.
  const k = pair - (vernier.teeth + 1) / 2;
  return { mm: k === 0 ? 0 : -k * vernier.stepMm, deviation: vernier.stepMm / Math.sqrt(12) };
}

/** How the lightest areas of a finished slab came out. */
export type LightAreas = 'clear' | 'blotchy' | 'covered' | 'scorched';

/** How far off full clearing each may be, as factors of the light-end power (estimates). */
const BETWEEN: Readonly<Record<LightAreas, readonly [what: 'clears' | 'scorches', low: number, high: number]>> = {
  clear: ['clears', 0.6, 1],
  blotchy: ['clears', 1, 1.3],
  covered: ['clears', 1.15, 1.8],
  scorched: ['scorches', 0.6, 1],
};

/**
 * A finished slab as a card of one patch: its lightest areas, burned by its own passes. What an eye says of them puts the power that clears (or
 * scorches) between two ends. It tells little beside a card, but of the very paint and warmth of real work.
 * @throws CardError if the passes do not burn the lightest areas at all.
 */
export function slabOutcome(
  piece: Piece,
  passes: readonly Pass[],
  areas: LightAreas,
): { readonly card: Card; readonly reading: CardReading } {
  const burns = passes.slice(-3).map((pass) =>
    evenBurn({ ...piece, passes: [pass] }, pass.lightEndPower, {
      headingRad: pass.headingRad,
      focusOffsetMm: pass.focusOffsetMm,
    }),
  );
  const power = burns.at(-1)?.lightEndPower ?? 0;
  if (power <= 0) throw new CardError('the last pass does not burn the lightest areas, so they show nothing');
  const [what, low, high] = BETWEEN[areas];
  const box = { xMm: 20, yMm: 12, widthMm: 10, heightMm: 10 };
  const card: Card = {
    format: 'foreburn-card',
    version: 1,
    kind: 'check-strip',
    id: hash16(JSON.stringify([burns, areas])),
    widthMm: SMALLEST_CARD_MM.width,
    heightMm: SMALLEST_CARD_MM.height,
    pitchMm: passes[0].rowPitchMm,
    marking: burns[0],
    reference: { ...box, xMm: 40 },
    patches: [{ id: 'light', label: '1', box, burns, warmthPerShareK: burns.map(() => 0) }],
    ladders: [{ name: 'light areas', patches: ['light'] }],
    lines: [],
    vernier: null,
  };
  const reading: CardReading = {
    format: 'foreburn-reading',
    version: 1,
    kind: card.kind,
    cardId: card.id,
    how: 'eye',
    patches: [],
    firsts: [{ what, patch: 'light', lowPower: Math.min(0.99, low * power), highPower: Math.min(1, high * power) }],
    lines: [],
    rowOffset: null,
  };
  return { card, reading };
}
