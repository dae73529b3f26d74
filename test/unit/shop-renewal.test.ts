import { describe, expect, test } from 'vitest';
import { burnsKey } from '../../src/page/store/board-rows.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { OrderState, Piece } from '../../src/piece/schema.ts';
import { copySettings } from '../../src/shop/copy-settings.ts';
import { type Outlook, renewalWords, usersOf } from '../../src/shop/renewal.ts';
import { summaryOf } from '../../src/shop/summary.ts';
import { EMPTY_SHELF, putOnShelf, shelve, takeFromShelf } from '../../src/studies/calibrate/shelf/shelf.ts';

const preset = createPiece('Preset', '');
const calibrated = (threshold: number): Piece => ({
  ...preset,
  certainty: { ...preset.certainty, source: 'calibrated', threshold },
});
const shelved = (threshold: number, name = 'Peat') => shelve(calibrated(threshold), { name, date: '2031-05-02' });
const line = (name: string, piece: Piece, state: OrderState = 'idea') => ({
  name,
  summary: summaryOf({ ...piece, order: { ...piece.order, state } }, null),
});

describe('pieces that use an entry of the shelf', () => {
  const entry = shelved(0.1);
  const [anew] = putOnShelf(putOnShelf(EMPTY_SHELF, entry), shelved(0.05)).entries;
  const lines = [
    line('older', takeFromShelf(preset, entry)),
    line('painted', takeFromShelf(preset, entry), 'painted'),
    line('burned', takeFromShelf(preset, entry), 'burned'),
    line('delivered', takeFromShelf(preset, entry), 'delivered'),
    line('renewed', takeFromShelf(preset, anew)),
    line('other', takeFromShelf(preset, shelved(0.1, 'Oat'))),
    line('none', preset),
    { name: 'unreadable', summary: null },
  ];
  const found = (one: typeof entry) => usersOf(one, lines).map(({ name }) => name);

  test('are those still to be burned whose numbers are not the ones it has', () => {
    expect(found(anew)).toEqual(['older', 'painted']);
    expect(found({ ...anew, name: 'Renamed' })).toEqual(['older', 'painted']);
    expect(found(entry)).toEqual(['renewed']);
  });

  test('burn alike whatever they refer to', () => {
    const piece = takeFromShelf(preset, entry);
    expect(burnsKey({ ...piece, shelfEntry: null }, 'a')).toBe(burnsKey(piece, 'a'));
  });

  test('hand it on with coats and machine, not with one of them', () => {
    const from = takeFromShelf(preset, entry);
    const coats = from.stack.coats.map((coat) => ({ ...coat, layers: 3 }));
    const other = { ...from, machine: { ...from.machine, name: 'Red one' }, stack: { ...from.stack, coats } };
    expect(copySettings(preset, other, ['coats', 'machine']).shelfEntry).toEqual(from.shelfEntry);
    expect(copySettings(from, { ...other, shelfEntry: null }, ['machine']).shelfEntry).toBeNull();
    expect(copySettings(from, preset, ['passes', 'tones', 'rates']).shelfEntry).toEqual(from.shelfEntry);
  });
});

test('what a renewal changes is one sentence', () => {
  const [good, bad] = [0.75, 0.74];
  const of = (before: number | null, after: number | null, times = 1): Outlook[] =>
    Array(times).fill({ before, after });
  expect(renewalWords([...of(good, bad, 3), ...of(bad, good), ...of(good, good, 5), ...of(bad, bad, 2)])).toBe(
    '3 of 11 no longer come out; 1 comes out now.',
  );
  expect(renewalWords([...of(good, bad), ...of(good, good)])).toBe('1 of 2 no longer comes out.');
  expect(renewalWords([...of(bad, good, 2), ...of(null, good)])).toBe(
    '2 of 2 come out now. 1 had no proof to compare with.',
  );
  expect(renewalWords([...of(good, good), ...of(bad, bad)])).toBe('1 of 2 comes out, as before.');
  expect(renewalWords(of(null, bad, 2))).toBe('2 had no proof to compare with.');
});
