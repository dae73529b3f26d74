import { encode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { samePhysics } from '../../src/page/follow-piece.ts';
import { nameOfCopy } from '../../src/page/store/library.ts';
import { type Earlier, fromEarlier } from '../../src/page/store/open-first.ts';
import { beginOpening } from '../../src/page/store/open-kept.ts';
import { nearestSteps } from '../../src/page/store/piece-writer.ts';
import { readCodeRecord, readPieceRecord } from '../../src/page/store/records.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { exportShelf } from '../../src/studies/calibrate/shelf/shelf.ts';

describe('the steps of undo that are kept', () => {
  const sizeOf = (step: string) => step.length;
  test('are those nearest to now, both ways', () => {
    const history = { past: ['a', 'b', 'c', 'd'], future: ['g', 'f', 'e'] };
    expect(nearestSteps(history, sizeOf, 100)).toEqual(history);
    expect(nearestSteps(history, sizeOf, 4)).toEqual({ past: ['c', 'd'], future: ['f', 'e'] });
    expect(nearestSteps(history, sizeOf, 0)).toEqual({ past: [], future: [] });
    expect(nearestSteps({ past: ['x', 'long', 'y'], future: [] }, sizeOf, 3)).toEqual({ past: ['y'], future: [] });
  });
});

describe('of several things being opened', () => {
  test('the one begun last counts, whichever is ready first', () => {
    const first = beginOpening();
    expect(first()).toBe(true);
    const second = beginOpening();
    expect([first(), second()]).toEqual([false, true]);
  });
});

describe('a proof is ordered', () => {
  const piece = createPiece('Jetty', 'jetty.jpg');
  test.each([
    ['its name', { ...piece, name: 'Pier' }],
    ['where it lies', { ...piece, placement: { ...piece.placement } }],
    ['how programs are worded', { ...piece, machine: { ...piece.machine, control: { ...piece.machine.control } } }],
  ])('not for %s', (_, other) => {
    expect(samePhysics(piece, other)).toBe(true);
  });
  test.each([
    ['a pass', { ...piece, passes: piece.passes.map((pass) => ({ ...pass, lightEndPower: 0.5 })) }],
    ['the slab', { ...piece, slab: { ...piece.slab, widthMm: 100 } }],
    [
      'rows that are shifted',
      {
        ...piece,
        machine: {
          ...piece.machine,
          control: { ...piece.machine.control, correctRowOffset: !piece.machine.control.correctRowOffset },
        },
      },
    ],
  ])('for %s', (_, other) => {
    expect(samePhysics(piece, other)).toBe(false);
  });
});

const tools = { id: 'new', owner: 'tab', now: 1000, keyOf: async (bytes: Uint8Array) => `key-${bytes.length}` };
const photo = encode({ width: 8, height: 6, channels: 3, data: new Uint8Array(8 * 6 * 3).fill(200) });
const face = new Uint8Array([1, 2, 3]);
const text = JSON.stringify(createPiece('Old slab', 'old.png'));
const work = { piece: text, photoKey: 'k1', photoName: 'old.png', images: ['image-face.jpg'] };
const pins = [{ id: 'pin-1' }];
function earlier(over: Partial<Record<string, unknown>> = {}, saved: string | null = JSON.stringify(work)): Earlier {
  const entries = new Map<string, unknown>([
    ['foreburn-photo', { key: 'k1', bytes: photo }],
    ['foreburn-image-face.jpg', face],
    ['foreburn-pins', pins],
    ...(Object.entries(over) as [string, unknown][]),
  ]);
  return { work: saved, entries };
}

describe('what an earlier page kept', () => {
  test('becomes a piece with photograph, images and pins', async () => {
    const { piece: record, images, leftovers } = await fromEarlier(earlier(), tools);
    expect(readPieceRecord(record).piece.name).toBe('Old slab');
    expect(record).toMatchObject({ id: 'new', title: 'Old slab', pins, photo: { key: 'k1', width: 8, height: 6 } });
    expect(new Map(images.map(({ name, bytes }) => [name, bytes]))).toEqual(
      new Map([
        ['image-face.jpg', face],
        ['k1', photo],
      ]),
    );
    expect([...record!.images].sort()).toEqual(['image-face.jpg', 'k1']);
    expect(leftovers).toEqual([]);
  });

  test('whose photograph is another one, as after a kill, keeps the piece and leaves that photograph over', async () => {
    const {
      piece: record,
      images,
      leftovers,
    } = await fromEarlier(earlier({ 'foreburn-photo': { key: 'k0', bytes: photo } }), tools);
    expect(readPieceRecord(record).piece.name).toBe('Old slab');
    expect(record!.photo).toBeNull();
    expect(record!.images).toContain('k1');
    expect(images.map(({ name }) => name)).not.toContain('k0');
    expect(leftovers).toEqual([{ name: 'foreburn-photo', title: 'Photograph of an earlier piece', value: photo }]);
  });

  test.each([
    ['cut off', JSON.stringify(work).slice(0, 200)],
    ['cut off inside the piece', JSON.stringify({ ...work, piece: text.slice(0, 300) })],
    ['of a newer version', JSON.stringify({ ...work, piece: text.replace(/"version":\d+/, '"version":99') })],
  ])('%s becomes a record that cannot be read, with all of its text and its photograph', async (_, saved) => {
    const { piece: record, images } = await fromEarlier(earlier({}, saved), tools);
    expect(() => readPieceRecord(record)).toThrow(/damaged|newer/);
    expect(saved === record!.piece || saved.includes(JSON.stringify(record!.piece))).toBe(true);
    expect(images.map(({ name }) => name)).toContain('k1');
    expect([...record!.images].sort()).toEqual(['image-face.jpg', 'k1']);
  });

  test('by the codes of bench sheets can be opened by them', async () => {
    const file = encodePieceFile({ piece: createPiece('Sheet', 'old.png'), images: new Map([['old.png', photo]]) });
    const { codes, images, leftovers } = await fromEarlier(
      earlier({ 'foreburn-kept-7KQ2-M0XB': file, 'foreburn-kept-0000-0000': file.subarray(0, 80) }),
      tools,
    );
    expect(codes).toHaveLength(1);
    const { record, piece: opened } = readCodeRecord(codes[0]);
    expect(opened.name).toBe('Sheet');
    expect(record.photo).toMatchObject({ key: `key-${photo.length}`, name: 'old.png', width: 8 });
    expect(images.map(({ name }) => name)).toContain(`key-${photo.length}`);
    expect(leftovers.map(({ name }) => name)).toEqual(['foreburn-kept-0000-0000']);
  });

  test('on a shelf that is damaged or newer is left over whole', async () => {
    for (const shelf of ['{"format":"fore', exportShelf({ entries: [] }).replace('"version": 1', '"version": 9')]) {
      const { leftovers, shelf: entries } = await fromEarlier(earlier({ 'foreburn-shelf': shelf }), tools);
      expect(entries).toEqual([]);
      expect(leftovers).toEqual([{ name: 'foreburn-shelf', title: 'Shelf of calibrations', value: shelf }]);
    }
  });
});

test('copies of copies are counted, and long names keep their ending', () => {
  expect(nameOfCopy('Quay')).toBe('Quay (copy)');
  expect(nameOfCopy('Quay (copy)')).toBe('Quay (copy 2)');
  expect(nameOfCopy('Quay (copy 9)')).toBe('Quay (copy 10)');
  expect(nameOfCopy('')).toBe('(copy)');
  expect(nameOfCopy('x'.repeat(200))).toBe(`${'x'.repeat(193)} (copy)`);
});
