import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { createDemoPiece } from '../../src/piece/demo-piece.ts';
import type { Order, Piece } from '../../src/piece/schema.ts';
import { arrange, type BoardLine, countStates, DEFAULT_VIEW } from '../../src/shop/board.ts';
import { copySettings } from '../../src/shop/copy-settings.ts';
import { type Foretold, summaryOf } from '../../src/shop/summary.ts';

interface Wish extends Partial<Order> {
  readonly client?: string;
  readonly told?: Foretold;
}

let changes = 0;

function lineOf(title: string, { client = '', told, ...order }: Wish = {}): BoardLine {
  const piece = createPiece(title, '');
  const ordered = { ...piece, quote: { ...piece.quote, client }, order: { ...piece.order, ...order } };
  return { id: title, title, photoName: null, changedAt: changes++, summary: summaryOf(ordered, told ?? null) };
}

const titles = (lines: readonly BoardLine[]): string[] => lines.map(({ title }) => title);

describe('the board', () => {
  const told = (accepted: number, seconds: number): Foretold => ({ passSeconds: [seconds], verdict: '', accepted });
  const lines = [
    lineOf('Quay 10', { dueOn: '2031-05-12', state: 'idea', client: 'Fenwick Hall', told: told(0.6, 900) }),
    lineOf('Quay 9', { dueOn: '2031-05-02', state: 'painted', told: told(0.9, 60) }),
    lineOf('Crème', { state: 'painted', client: 'Boatyard' }),
    lineOf('Barn', { dueOn: '2031-04-30', state: 'delivered' }),
    { id: 'x', title: 'Unreadable', photoName: null, changedAt: changes++, summary: null },
  ];

  test('puts what is due first first; what is delivered or not due, and what cannot be read, comes last', () => {
    expect(titles(arrange(lines, DEFAULT_VIEW))).toEqual(['Quay 9', 'Quay 10', 'Unreadable', 'Barn', 'Crème']);
    const turned = titles(arrange(lines, { ...DEFAULT_VIEW, turned: true }));
    expect(turned).toEqual(['Quay 10', 'Quay 9', 'Unreadable', 'Barn', 'Crème']);
  });

  test('sorts names as people count, odds from the best and minutes from the fewest', () => {
    const by = (by: 'title' | 'odds' | 'minutes') => titles(arrange(lines, { ...DEFAULT_VIEW, by }));
    expect(by('title')).toEqual(['Barn', 'Crème', 'Quay 9', 'Quay 10', 'Unreadable']);
    expect(by('odds').slice(0, 2)).toEqual(['Quay 9', 'Quay 10']);
    expect(by('minutes').slice(0, 2)).toEqual(['Quay 9', 'Quay 10']);
  });

  test('finds by all words, wherever they stand, without case and accents', () => {
    const found = (words: string, state: Order['state'] | 'all' = 'all') =>
      titles(arrange(lines, { ...DEFAULT_VIEW, words, state })).sort();
    expect(found('QUAY fenwick')).toEqual(['Quay 10']);
    expect(found('creme')).toEqual(['Crème']);
    expect(found('peat quay')).toEqual(['Quay 10', 'Quay 9']);
    expect(found('', 'painted')).toEqual(['Crème', 'Quay 9']);
    expect(found('  ')).toHaveLength(5);
    expect(countStates(lines)).toEqual({ all: 5, idea: 1, prepared: 0, painted: 2, burned: 0, delivered: 1 });
  });
});

describe('settings copied from one piece to another', () => {
  const calibrated = (piece: Piece): Piece => ({
    ...piece,
    certainty: { ...piece.certainty, source: 'calibrated', threshold: 0.02 },
  });
  const demo = createDemoPiece();
  const from: Piece = calibrated({
    ...demo,
    stack: { ...demo.stack, coats: demo.stack.coats.map((coat) => ({ ...coat, layers: 3 })) },
    machine: { ...demo.machine, name: 'Blue one' },
    passes: demo.passes.map((pass) => ({ ...pass, feedMmPerS: 77 })),
    quote: { ...demo.quote, machinePerHour: 99, client: 'Theirs' },
  });
  const to = { ...createPiece('Mine', 'mine.jpg'), log: [] };

  test('are those that were asked for and no others', () => {
    const passes = copySettings(to, from, ['passes']);
    expect(passes.passes[0].feedMmPerS).toBe(77);
    expect({ ...passes, passes: to.passes }).toEqual(to);
    const rates = copySettings(to, from, ['rates']);
    expect(rates.quote).toMatchObject({ machinePerHour: 99, client: '', options: to.quote.options });
    expect(copySettings(to, from, []).stack).toBe(to.stack);
  });

  test('bring what a card said along only where both its paint and its machine come', () => {
    expect(copySettings(to, from, ['coats', 'machine']).certainty).toEqual(from.certainty);
    expect(copySettings(calibrated(to), from, ['coats']).certainty.source).toBe('preset');
    expect(copySettings(calibrated(to), from, ['machine']).certainty.source).toBe('preset');
    expect(copySettings(calibrated(to), to, ['coats', 'machine']).certainty).toEqual(to.certainty);
  });

  test('leave a slab where it lies unless the bed is another', () => {
    const placed = { ...to, placement: { ...to.placement, xMm: 17 } };
    expect(copySettings(placed, placed, ['machine']).placement.xMm).toBe(17);
    const wide = { ...from, placement: { ...from.placement, bedWidthMm: 900 } };
    expect(copySettings(placed, wide, ['machine']).placement).toMatchObject({ bedWidthMm: 900, xMm: 450 });
  });
});
