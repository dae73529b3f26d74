import type { Pass, Piece } from '../../piece/schema.ts';
import type { Card } from './card.ts';
import { CardError } from './card.ts';
import { hash16, SMALLEST_CARD_MM } from './geometry.ts';
import { evenBurn } from './make-card.ts';
import type { CardReading } from './reading.ts';

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
  if (power <= 0) throw new CardError('the last pass does not burn the lightest areas, so they tell nothing');
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
