import { expect, test } from 'vitest';
import { paintNeeded } from '../../src/outputs/paper/bench-sheet.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { materialsOf } from '../../src/shop/materials.ts';
import { summaryOf } from '../../src/shop/summary.ts';

const base = createPiece('Landing', 'landing.jpg');

const piece = (widthMm: number, quantity: number, paintLoss: number, topCoat = base.stack.coats[0]): Piece => ({
  ...base,
  slab: { ...base.slab, widthMm },
  stack: { ...base.stack, coats: [topCoat, base.stack.coats[1]] },
  quote: { ...base.quote, client: 'R. Farrow', paintLoss },
  order: { ...base.order, quantity },
});

test('paint and slabs are the sums of the single pieces', () => {
  // The same name in another colour is another paint; a thicker film of a paint is none.
  const reddish = { ...base.stack.coats[0], colorLab: [29, 20, 4.5] as const };
  const pieces = [
    piece(300, 2, 0.3),
    piece(300, 1, 0.1, { ...base.stack.coats[0], dryThicknessUm: 40, colorLab: [29, 3, 4.5] }),
    piece(200, 3, 0.3, { ...reddish, colorLab: [29, 20, 4.5] }),
  ];
  const { paints, slabs } = materialsOf(pieces);
  expect(paints.map(({ name, colorLab }) => [name, colorLab[1]])).toEqual([
    ['Oat', 0.5],
    ['Peat', 3],
    ['Peat', 20],
  ]);
  const single = pieces.flatMap(({ stack, slab, quote, order }) =>
    stack.coats.map((coat) => order.quantity * paintNeeded(coat, slab, quote.paintLoss).paintMl),
  );
  const sum = (values: readonly number[]) => values.reduce((total, value) => total + value, 0);
  expect(sum(paints.map(({ ml }) => ml))).toBeCloseTo(sum(single), 9);
  expect(slabs.map(({ widthMm, count }) => [widthMm, count])).toEqual([
    [300, 3],
    [200, 3],
  ]);
});

test('a line of the board knows of the burn only what was computed', () => {
  const shown = piece(300, 2, 0.3);
  expect(summaryOf(shown, null)).toMatchObject({
    client: 'R. Farrow',
    burnMinutes: null,
    verdict: null,
    accepted: null,
  });
  const foretold = { passSeconds: [600, 90], verdict: 'It comes out.', accepted: 0.9 };
  expect(summaryOf(shown, foretold)).toMatchObject({ burnMinutes: 11.5, verdict: 'It comes out.', accepted: 0.9 });
});
