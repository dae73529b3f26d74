import type { Card } from '../../vision/card/card.ts';
import { powerOf } from '../../vision/card/card.ts';
import { type CardReading, ReadingError } from '../../vision/card/reading.ts';

/** Shares of a card's patches that must have been read, and how different they must be, L*. */
const LEAST_READ = 0.6;
const LEAST_RANGE = 4;
/** By how much lightness may fall on the way to clearing, L*: more is a card read the wrong way round. */
const BACKWARDS = 25;

/**
 * Refuses readings that show no difference anywhere; beside others a card whose patches are all alike still says that they are.
 * @throws ReadingError saying what to do.
 */
export function checkRange(read: readonly { readonly card: Card; readonly reading: CardReading }[]): void {
  const alike = ({ card, reading: { patches } }: (typeof read)[number]): boolean => {
    const lightness = patches.map(({ lab }) => lab[0]);
    return card.patches.length > 2 && Math.max(...lightness) - Math.min(...lightness) < LEAST_RANGE;
  };
  const photographed = read.filter(({ reading }) => reading.patches.length > 0);
  if (photographed.length > 0 && photographed.every(alike)) {
    throw new ReadingError(
      'all patches look the same: the powers lie all below or all above what burns this paint. Make a card with other powers',
    );
  }
}

/**
 * Refuses what no card can have said.
 * @throws ReadingError saying what is wrong and what to do.
 */
export function checkReading(card: Card, reading: CardReading): void {
  if (reading.kind !== card.kind || reading.cardId !== card.id) {
    throw new ReadingError(
      `this reading is of card ${reading.cardId} (${reading.kind}), not of card ${card.id} (${card.kind}); give the file of the card that was burned`,
    );
  }
  for (const { id } of reading.patches) {
    if (!card.patches.some((patch) => patch.id === id)) throw new ReadingError(`the card has no patch "${id}"`);
  }
  for (const { id } of reading.lines) {
    if (!card.lines.some((line) => line.id === id)) throw new ReadingError(`the card has no line "${id}"`);
  }
  for (const { patch, lowPower, highPower } of reading.firsts) {
    if (!card.patches.some(({ id }) => id === patch)) throw new ReadingError(`the card has no patch "${patch}"`);
    if (lowPower >= highPower)
      throw new ReadingError(`patch ${patch}: the power before must be lower than ${highPower}`);
  }
  checkFirsts(reading);
  if (reading.patches.length > 0) checkPatches(card, reading);
}

/** What comes later in a burn must not come at a lower power. */
function checkFirsts({ firsts }: CardReading): void {
  const shows = firsts.find(({ what }) => what === 'shows');
  const clears = firsts.find(({ what }) => what === 'clears');
  const scorches = firsts.find(({ what }) => what === 'scorches');
  if (shows && clears && shows.patch === clears.patch && clears.highPower < shows.highPower) {
    throw new ReadingError(
      'paint cannot be clear at a lower power than it first shows; check the labels that were read',
    );
  }
  if (clears && scorches && scorches.highPower < clears.highPower) {
    throw new ReadingError(
      'the undercoat cannot scorch before the paint over it is clear; check the labels that were read',
    );
  }
}

function checkPatches(card: Card, { patches }: CardReading): void {
  const share = patches.length / Math.max(1, card.patches.length);
  if (share < LEAST_READ) {
    throw new ReadingError(
      `only ${patches.length} of ${card.patches.length} patches were read; photograph the whole card and read it again`,
    );
  }
  for (const { patches: ids, name } of card.ladders) {
    if (name === 'tones') continue;
    const read = ids
      .map((id) => ({
        card: card.patches.find((patch) => patch.id === id)!,
        seen: patches.find((one) => one.id === id),
      }))
      .filter(({ seen }) => seen !== undefined)
      .map((one) => ({ power: powerOf(one.card.burns[one.card.burns.length - 1]), lightness: one.seen!.lab[0] }));
    if (read.length < 4) continue;
    const third = Math.max(1, Math.floor(read.length / 3));
    const mean = (part: typeof read) => part.reduce((sum, one) => sum + one.lightness, 0) / part.length;
    const peak = Math.max(...read.map((one) => one.lightness));
    if (mean(read.slice(0, third)) - mean(read.slice(-third)) > BACKWARDS && mean(read.slice(0, third)) > peak - 10) {
      throw new ReadingError(
        'the weak patches are clear and the strong ones are not: paint cannot clear before it shows. Is this the right card, the right way up?',
      );
    }
  }
}
