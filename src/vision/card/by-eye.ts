import { type Card, powerOf } from './card.ts';
import { type CardReading, ReadingError } from './reading.ts';

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
