import { describe, expect, test } from 'vitest';
import { LIMITS } from '../../src/base/input-error.ts';
import { parseJson } from '../../src/base/json-document.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { PieceError, parsePiece } from '../../src/piece/file.ts';
import { exportShelf, importShelf, shelve } from '../../src/studies/calibrate/shelf/shelf.ts';
import { parseCard } from '../../src/vision/card/card.ts';
import { makeCard } from '../../src/vision/card/make-card.ts';
import { parseReading } from '../../src/vision/card/reading.ts';

const read = (text: string): unknown => parseJson(text, ([reason]) => new RangeError(reason));
const reasonOf = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    return (error as Error).message;
  }
  return 'taken';
};
const fresh = () => JSON.parse(JSON.stringify(createPiece('Landing', 'landing.jpg')));

describe('JSON from outside', () => {
  test('is read where it is within the limits, signs inside words not counted', () => {
    const text = JSON.stringify({ a: [1, 2, { b: '[[[[,,,,"\\' }], 'c"': '}'.repeat(200) });
    expect(read(text)).toEqual(JSON.parse(text));
    const list = JSON.stringify(Array(LIMITS.listLength).fill(0));
    expect(read(list)).toHaveLength(LIMITS.listLength);
    expect(read('['.repeat(LIMITS.nesting) + ']'.repeat(LIMITS.nesting))).toBeInstanceOf(Array);
  });

  test.each([
    [
      'a list of a million entries',
      () => JSON.stringify(Array(1e6).fill(0)),
      'it holds a list of more than 10000 entries',
    ],
    ['an object of very many', () => `{${'"a":1,'.repeat(10_000)}"b":1}`, 'it holds a list of more than 10000 entries'],
    ['lists in lists', () => '['.repeat(65) + ']'.repeat(65), 'it is nested deeper than 64 levels'],
    ['many lists', () => `[${Array(200).fill(`[${'0,'.repeat(9000)}0]`)}]`, 'it holds more than 1000000 values'],
    ['too much text', () => `"${' '.repeat(LIMITS.documentBytes)}"`, 'it is larger than 32 MiB'],
    ['a comma too many', () => '{\n  "a": 1,\n}', 'its JSON cannot be read (line 3, character 1)'],
    ['an end that is missing', () => '{"a": [1, 2', 'its JSON cannot be read (it breaks off before its end)'],
    ['nothing', () => '', 'its JSON cannot be read (it breaks off before its end)'],
  ])('%s is refused before anything is made of it', (_, make, reason) => {
    expect(reasonOf(() => read(make()))).toBe(reason);
  });
});

describe('what is wrong with a document', () => {
  test('thousands of faults make one message that fits, and their number', () => {
    const piece = { ...fresh(), log: Array(150).fill({ passes: Array(12).fill({ tone: {} }) }) };
    const message = reasonOf(() => parsePiece(JSON.stringify(piece)));
    expect(message.length).toBeLessThanOrEqual(LIMITS.message);
    expect(message).toMatch(/^log\[0\]\.burnedAt: .*; and \d{4,} more$/);
  });

  test('so many faults that the schema’s library fails are no engine’s message', () => {
    const pass = { ...fresh().passes[0], tone: { ...fresh().picture.tone, curve: Array(32).fill(['a', 'b']) } };
    const wrong = Object.fromEntries(Object.keys(pass).map((key) => [key, key === 'tone' ? pass.tone : []]));
    const piece = { ...fresh(), log: Array(200).fill({ passes: Array(12).fill(wrong) }) };
    const text = JSON.stringify(piece);
    expect(() => parsePiece(text)).toThrow(PieceError);
    expect(reasonOf(() => parsePiece(text))).not.toMatch(/call stack|Invalid/);
  });

  test('a long value is named by its beginning, unknown fields by the first few', () => {
    const piece = { ...fresh(), ...Object.fromEntries(Array.from({ length: 5000 }, (_, i) => [`field${i}`, i])) };
    expect(reasonOf(() => parsePiece(JSON.stringify(piece)))).toBe(
      'the piece: unknown field "field0", "field1", "field2" and 4997 more; remove it or check its spelling',
    );
    const named = reasonOf(() => parsePiece(JSON.stringify({ ...fresh(), version: 'x'.repeat(1e6) })));
    expect(named.length).toBeLessThan(150);
  });

  const card = makeCard('step-wedge', createPiece('', ''));
  test('cards, readings and shelves name place, range and what was found, as pieces do', () => {
    const wide = JSON.stringify({ ...card, widthMm: 'wide', kind: 'tarot' });
    expect(reasonOf(() => parseCard(wide))).toMatch(
      /^the card is damaged: kind: must be "step-wedge" or .*, got "tarot"; widthMm: must be a number from 30 to 400, got "wide"$/,
    );
    const reading = { format: 'foreburn-reading', version: 1, kind: 'swatch', cardId: 1, how: 'ear', patches: [{}] };
    expect(reasonOf(() => parseReading(JSON.stringify(reading)))).toMatch(
      /^the reading is damaged: how: must be "eye" or "photo", got "ear"; patches\[0\]\.id: must be of type string, got nothing; /,
    );
    const made = createPiece('', '');
    const calibrated = { ...made, certainty: { ...made.certainty, source: 'calibrated' as const } };
    const entry = shelve(calibrated, { name: 'tin', date: '2031-05-02' });
    const text = exportShelf({ entries: [entry] }).replace('2031-05-02', 'yesterday');
    expect(importShelf(text).refused).toEqual([
      { name: 'tin', reason: 'damaged: date: must be a day like 2031-05-02, got "yesterday"' },
    ]);
    for (const said of [reasonOf(() => parseCard(wide)), importShelf(text).refused[0].reason]) {
      expect(said).not.toContain('Invalid input');
    }
  });

  test('a shelf of ten thousand entries is answered, wrong or right', () => {
    const wrong = JSON.stringify({ format: 'foreburn-shelf', version: 1, entries: Array(10_000).fill({ name: 'x' }) });
    expect(importShelf(wrong).refused).toHaveLength(10_000);
    expect(reasonOf(() => importShelf('{"format":"foreburn-shelf","version":0,"entries":[]}'))).toBe(
      'the shelf is damaged: version: must be 1, got 0',
    );
  });
});
