import { createPiece } from '../../../src/piece/defaults.ts';
import { parsePiece } from '../../../src/piece/file.ts';
import type { Piece } from '../../../src/piece/schema.ts';
import { exportShelf, importShelf, shelve } from '../../../src/studies/calibrate/shelf/shelf.ts';
import { CARD_KINDS, parseCard } from '../../../src/vision/card/card.ts';
import { makeCard } from '../../../src/vision/card/make-card.ts';
import { parseReading } from '../../../src/vision/card/reading.ts';
import { randomPiece } from '../../helpers/random-piece.ts';
import type { Dice } from '../dice.ts';
import { bytesText, type Format, textBytes } from '../format.ts';
import { spoilJson } from '../spoil-json.ts';

/** A kind of JSON document: how a right one looks, and how it is read. */
const document = (sound: (dice: Dice) => unknown, parse: (text: string) => unknown): Format => ({
  make: (dice) => ({ bytes: textBytes(spoilJson(JSON.stringify(sound(dice)), dice)) }),
  take(bytes) {
    const told = JSON.stringify(parse(bytesText(bytes)));
    return { told, again: () => JSON.stringify(parse(told)) };
  },
});

const somePiece = (dice: Dice): Piece =>
  dice.chance(0.3) ? createPiece('Landing', 'landing.jpg') : randomPiece(dice.below(1000));

export const piece = document((dice) => {
  const made = somePiece(dice);
  return dice.chance(0.2) ? { ...made, version: 1 + dice.below(6) } : made;
}, parsePiece);

export const strokes = document((dice) => {
  const made = createPiece('Landing', 'landing.jpg');
  const stroke = () => ({
    does: dice.pick(['erase', 'restore']),
    points: Array.from({ length: 1 + dice.below(300) }, () => [dice.below(300) / 100 - 1, dice.below(500) / 100 - 1]),
    radius: 0.01,
    hardness: 0.5,
  });
  return { ...made, picture: { ...made.picture, strokes: Array.from({ length: dice.below(60) }, stroke) } };
}, parsePiece);

const cards = CARD_KINDS.map((kind) => makeCard(kind, createPiece('Card', 'card.png')));
export const card = document((dice) => dice.pick(cards), parseCard);

export const reading = document((dice) => {
  const { kind, id, patches } = dice.pick(cards);
  const lab = () => [dice.below(100), dice.below(20) - 10, dice.below(20) - 10];
  return {
    format: 'foreburn-reading',
    version: 1,
    kind,
    cardId: id,
    how: dice.pick(['eye', 'photo']),
    patches: patches.map((patch) => ({ id: patch.id, lab: lab(), deviation: 1, mottle: 0.5 })),
    firsts: patches.slice(0, 2).map((patch) => ({ what: 'clears', patch: patch.id, lowPower: 0.1, highPower: 0.2 })),
    lines: [{ id: 'a1', measure: 'edge', widthMm: 0.1, deviation: 0.02 }],
    rowOffset: dice.chance(0.5) ? null : { mm: 0.1, deviation: 0.02 },
  };
}, parseReading);

const calibrated = (dice: Dice, name: string) => {
  const made = somePiece(dice);
  return shelve({ ...made, certainty: { ...made.certainty, source: 'calibrated' } }, { name, date: '2031-05-02' });
};
export const shelf: Format = {
  make(dice) {
    const entries = Array.from({ length: dice.below(4) }, (_, i) => calibrated(dice, `tin ${i}`));
    return { bytes: textBytes(spoilJson(exportShelf({ entries }), dice)) };
  },
  take(bytes) {
    const { shelf: taken, refused } = importShelf(bytesText(bytes));
    const told = exportShelf(taken);
    return {
      told,
      again: () => exportShelf(importShelf(told).shelf),
      messages: refused.map(({ name, reason }) => `"${name}": ${reason}`),
    };
  },
};
