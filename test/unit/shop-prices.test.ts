import { expect, test } from 'vitest';
import { createPreparation } from '../../src/burn/prepare.ts';
import { optionSeconds, sumQuote } from '../../src/outputs/paper/quote-paper.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { paintOf } from '../../src/shop/materials.ts';
import { pricePaper, priceRow, sizedPiece } from '../../src/shop/prices.ts';
import { rampPhoto } from '../helpers/burn.ts';

const photo = rampPhoto();
const base = createPiece('Dark oval', 'photo.png');
const piece: Piece = {
  ...base,
  slab: { ...base.slab, widthMm: 90, heightMm: 60 },
  picture: { ...base.picture, widthMm: 60, offsetXMm: 4 },
  passes: [{ ...base.passes[0], rowPitchMm: 0.4 }],
};
const finish = { name: 'Dark oval', piece };
const own = { widthMm: 90, heightMm: 60, slabCost: null };
const double = { widthMm: 180, heightMm: 120, slabCost: null };
const secondsOf = (of: Piece) => optionSeconds(createPreparation(true), photo, of, of.quote.options[0]);

test('the price of a piece’s own size is what its quote says', () => {
  const row = priceRow(finish, own, secondsOf(sizedPiece(finish, own)));
  expect(sizedPiece(finish, own)).toEqual(piece);
  expect(row.sum).toEqual(sumQuote(piece, piece.quote.options[0], secondsOf(piece)));
  expect(row.paintMl).toBeCloseTo(
    paintOf(piece).reduce((sum, { ml }) => sum + ml, 0),
    9,
  );
});

test('a slab twice as wide and high takes four times the paint and wood, and longer rows', () => {
  const [small, large] = [own, double].map((size) => priceRow(finish, size, secondsOf(sizedPiece(finish, size))));
  expect(large.paintMl / small.paintMl).toBeCloseTo(4, 1);
  expect(large.sum.slab).toBe(4 * small.sum.slab);
  expect(large.pictureWidthMm).toBe(120);
  expect(large.sum.machineMinutes / small.sum.machineMinutes).toBeGreaterThan(2);
  expect(large.sum.handwork).toBe(small.sum.handwork);
  expect(priceRow(finish, { ...double, slabCost: 31 }, 60).sum.slab).toBe(31);
});

test('the list has a line for each size and a column for each finish', () => {
  const bare = { name: 'Bare', piece: { ...piece, stack: { ...piece.stack, coats: [] } } };
  const rows = [finish, bare].flatMap((one) => [own, double].map((size) => priceRow(one, size, 600)));
  const [table] = pricePaper({ rows, piece, maker: { name: 'Bench by the Landing', mark: null }, costs: true }).blocks;
  expect(table).toMatchObject({ kind: 'table', head: ['Slab', 'Dark oval', 'Bare'] });
  const money = (value: number) => new Intl.NumberFormat('en', { style: 'currency', currency: 'EUR' }).format(value);
  expect(table.kind === 'table' && table.rows).toEqual([
    ['90 × 60 mm', money(rows[0].sum.total), money(rows[2].sum.total)],
    ['180 × 120 mm', money(rows[1].sum.total), money(rows[3].sum.total)],
  ]);
});
