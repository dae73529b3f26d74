import 'fake-indexeddb/auto';
import { IDBFactory } from 'fake-indexeddb';
import { openDB } from 'idb';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { keyOf, rememberPhoto } from '../../src/page/files/photo-bytes.ts';
import { burnsKey, forgetRow, keepProof, listPieces, listProofs } from '../../src/page/store/board-rows.ts';
import { closeDatabase, type Database, openDatabase } from '../../src/page/store/database.ts';
import {
  copyPiece,
  editKept,
  keptPieceFile,
  readKeptPiece,
  removePiece,
  restorePiece,
} from '../../src/page/store/library.ts';
import type { PieceState } from '../../src/page/store/piece-store.ts';
import { createPieceWriter, NOTHING_HELD, type Work } from '../../src/page/store/piece-writer.ts';
import { sweepImages } from '../../src/page/store/records.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile } from '../../src/piece/file.ts';

let database: Database;
beforeEach(async () => {
  vi.stubGlobal('indexedDB', new IDBFactory());
  database = await openDatabase();
});
afterEach(closeDatabase);

/** A piece under a name with a photograph of its own. */
async function stateOf(name: string, fill = 1): Promise<PieceState> {
  const bytes = new Uint8Array(64).fill(fill);
  const key = await keyOf(bytes);
  rememberPhoto(key, bytes);
  return { piece: createPiece(name, `${name}.jpg`), photo: { key, name: `${name}.jpg`, width: 8, height: 6 } };
}
const workOf = (state: PieceState, past: PieceState[] = [], future: PieceState[] = []): Work => ({
  state,
  past,
  future,
  pins: [],
});
const images = async () => (await database.getAllKeys('images')).length;

describe('a piece in the database', () => {
  test('comes back as it was, with its photograph and its undo', async () => {
    const first = await stateOf('Shed');
    const [renamed, now] = ['Barn', 'Mill'].map((name) => ({ ...first, piece: { ...first.piece, name } }));
    const next = await stateOf('Quay', 2);
    await createPieceWriter('a', NOTHING_HELD).write(database, workOf(now, [first, renamed], [next]));
    const kept = (await readKeptPiece(database, 'a'))!;
    expect(kept.piece).toEqual(now.piece);
    expect(kept.record.past.map((step) => JSON.parse(kept.steps.get(step)!.piece).name)).toEqual(['Shed', 'Barn']);
    expect(kept.record.future.map((step) => kept.steps.get(step)!.photo?.key)).toEqual([next.photo!.key]);
    // What only redo wants is there too.
    expect([...kept.images.keys()].sort()).toEqual([first.photo!.key, next.photo!.key].sort());
  });

  test('a step of undo is written once, and goes when it is not wanted any more', async () => {
    const states = await Promise.all(['a', 'b', 'c'].map((name) => stateOf(name)));
    const writer = createPieceWriter('a', NOTHING_HELD);
    await writer.write(database, workOf(states[1], [states[0]]));
    const [step] = await database.getAllKeys('steps');
    await database.put('steps', { of: 'a', step: step[1], piece: 'marked', photo: null });
    await writer.write(database, workOf(states[2], [states[0], states[1]]));
    const kept = (await database.getAll('steps')) as { piece: string }[];
    expect(kept.map(({ piece }) => piece === 'marked')).toEqual([true, false]);
    await writer.write(database, workOf(states[2], []));
    expect(await database.getAllKeys('steps')).toEqual([]);
  });

  test('a write that fails leaves the record before it whole, and the photograph is written again with the next', async () => {
    const writer = createPieceWriter('a', NOTHING_HELD);
    const before = await stateOf('Before');
    await writer.write(database, workOf(before));
    const after = await stateOf('After', 7);
    // What cannot be cloned fails after the photograph was handed over.
    const broken = { ...after, photo: { ...after.photo!, width: (() => {}) as unknown as number } };
    await expect(writer.write(database, workOf(broken))).rejects.toThrow();
    expect((await readKeptPiece(database, 'a'))!.piece.name).toBe('Before');
    expect(await database.getAllKeys('images')).toEqual([before.photo!.key]);
    await writer.write(database, workOf(after));
    expect([...(await readKeptPiece(database, 'a'))!.images.keys()]).toEqual([after.photo!.key]);
  });

  test('a tab that lost the piece to another is refused, and nothing of what it writes stands there', async () => {
    const writer = createPieceWriter('a', NOTHING_HELD);
    const mine = await stateOf('Mine');
    await writer.write(database, workOf(mine));
    // Another tab takes it over and goes on.
    const [key] = await database.getAllKeys('pieces');
    const record = (await database.get('pieces', key)) as object;
    await database.delete('pieces', key);
    await database.put('pieces', { ...record, owner: 'another tab', title: 'Theirs' });
    await forgetRow(database, 'a');
    const later = await stateOf('Later', 9);
    await expect(writer.write(database, workOf(later, [mine]))).rejects.toMatchObject({ name: 'ConstraintError' });
    expect((await listPieces(database)).map(({ title }) => title)).toEqual(['Theirs']);
    expect(await database.get('images', later.photo!.key)).toBeUndefined();
    expect(await database.getAllKeys('steps')).toEqual([]);
  });
});

describe('images', () => {
  test('stay as long as a piece, its undo or a bench sheet wants them, whoever else lets go of them', async () => {
    const shared = await stateOf('Shared', 3);
    const other = await stateOf('Other', 4);
    const [a, b] = ['a', 'b'].map((id) => createPieceWriter(id, NOTHING_HELD));
    await a.write(database, workOf(shared));
    await b.write(database, workOf(shared));
    await a.write(database, workOf(other, [shared]));
    await b.write(database, workOf(other));
    expect(await images()).toBe(2);
    await a.write(database, workOf(other));
    expect(await database.getAllKeys('images')).toEqual([other.photo!.key]);
    await database.put('codes', { code: '7KQ2-M0XB', images: [other.photo!.key] });
    for (const id of ['a', 'b']) await removePiece(database, id);
    expect(await images()).toBe(1);
    await database.delete('codes', '7KQ2-M0XB');
    await sweepImages(database);
    expect(await images()).toBe(0);
  });

  test('one whose bytes are not what its name says is not taken for whole', async () => {
    const state = await stateOf('Bent');
    const writer = createPieceWriter('a', NOTHING_HELD);
    await writer.write(database, workOf(state));
    await database.put('images', { name: state.photo!.key, bytes: new Uint8Array([1, 2, 3]) });
    expect((await readKeptPiece(database, 'a'))!.images.size).toBe(0);
    // In a file it goes as it is: someone may still make something of it.
    const { bytes } = await keptPieceFile(database, 'a');
    expect([...decodePieceFile(bytes).images]).toEqual([['Bent.jpg', new Uint8Array([1, 2, 3])]]);
  });
});

describe('the list', () => {
  test('a copy stands beside the first; a deleted piece comes back with everything', async () => {
    const first = await stateOf('First', 5);
    await createPieceWriter('a', NOTHING_HELD).write(database, workOf(first, [await stateOf('Earlier', 6)]));
    const copy = await copyPiece(database, 'a');
    expect((await listPieces(database)).map(({ title }) => title).sort()).toEqual(['First', 'First (copy)']);
    await removePiece(database, copy);
    const before = (await readKeptPiece(database, 'a'))!;
    const removed = (await removePiece(database, 'a'))!;
    expect([await images(), (await database.getAllKeys('steps')).length]).toEqual([0, 0]);
    await restorePiece(database, removed);
    expect(await readKeptPiece(database, 'a')).toEqual(before);
  });

  test('a newer or damaged piece is listed with the reason, and becomes a file byte for byte', async () => {
    const state = await stateOf('Later');
    await createPieceWriter('a', NOTHING_HELD).write(database, workOf(state));
    const [record] = (await database.getAll('pieces')) as { piece: string }[];
    const newer = record.piece.replace(/"version":\d+/, '"version":99');
    await database.put('pieces', { ...record, piece: newer });
    await database.put('pieces', { ...record, id: 'b', title: 'Cut', piece: record.piece.slice(0, 100) });
    await database.put('pieces', { ...record, id: 'c', format: 2 });
    await forgetRow(database, 'a');
    const faults = new Map((await listPieces(database)).map(({ id, fault }) => [id, fault]));
    expect(faults.get('a')).toMatch(/newer Foreburn/);
    expect(faults.get('b')).toMatch(/damaged/);
    expect(faults.get('c')).toMatch(/newer Foreburn/);
    await expect(readKeptPiece(database, 'a')).rejects.toThrow(/newer/);

    const { bytes } = await keptPieceFile(database, 'a');
    expect(() => decodePieceFile(bytes)).toThrow(/newer/);
    const text = new TextDecoder('latin1').decode(bytes);
    expect(text).toContain('images/Later.jpg');
  });
});

describe('rows of the board', () => {
  const TOLD = { foretold: { passSeconds: [90], verdict: 'It will come out.', accepted: 0.97 }, thumbnail: '' };

  test('are made for pieces that a page of the first layout kept', async () => {
    await createPieceWriter('a', NOTHING_HELD).write(database, workOf(await stateOf('Long kept')));
    const value = (await database.getAll('pieces'))[0];
    closeDatabase();
    vi.stubGlobal('indexedDB', new IDBFactory());
    const earlier = await openDB('foreburn', 1, {
      upgrade(first) {
        const pieces = first.createObjectStore('pieces', { keyPath: ['id', 'owner'] });
        pieces.createIndex('id', 'id', { unique: true });
        pieces.createIndex('images', 'images', { multiEntry: true });
      },
    });
    await earlier.put('pieces', value);
    earlier.close();
    database = await openDatabase();
    const [row] = await listPieces(database);
    expect(row).toMatchObject({ title: 'Long kept', fault: null, summary: { order: { state: 'idea' } } });
    expect(await database.getAllKeys('board')).toEqual(['a']);
  });

  test('follow every change of the piece without reading it again, and say when a proof does not hold any more', async () => {
    const state = await stateOf('Quay');
    await createPieceWriter('a', NOTHING_HELD).write(database, workOf(state));
    await keepProof(database, { id: 'a', burns: burnsKey(state.piece, state.photo!.key), ...TOLD });
    const isStale = async () => {
      const [row] = await listPieces(database);
      return (await listProofs(database, new Set(['a']), '')).get('a')?.burns !== row.burns;
    };
    expect(await isStale()).toBe(false);
    const order = { dueOn: '2031-05-02', state: 'painted', quantity: 3 } as const;
    const before = await editKept(database, 'a', (piece) => ({ ...piece, order, name: 'Pier' }));
    expect(before).toEqual(state.piece);
    expect((await listPieces(database))[0]).toMatchObject({ title: 'Pier', summary: { order } });
    expect(await isStale()).toBe(false);
    await editKept(database, 'a', (piece) => ({
      ...piece,
      passes: [{ ...piece.passes[0], lightEndPower: 0.123 }],
    }));
    expect(await isStale()).toBe(true);
    expect((await readKeptPiece(database, 'a'))!.piece.passes[0].lightEndPower).toBe(0.123);
  });

  test('go with the piece, come back with it, and belong to no other', async () => {
    const state = await stateOf('Quay');
    await createPieceWriter('a', NOTHING_HELD).write(database, workOf(state));
    await keepProof(database, { id: 'a', burns: 'x', ...TOLD });
    await keepProof(database, { id: 'never kept', burns: 'x', ...TOLD });
    const copy = await copyPiece(database, 'a');
    const removed = (await removePiece(database, 'a'))!;
    expect((await listPieces(database)).map(({ id }) => id)).toEqual([copy]);
    const ids = new Set([copy]);
    expect([...(await listProofs(database, ids, '')).keys()]).toEqual([copy]);
    expect(await database.getAllKeys('foretold')).toEqual([copy]);
    await restorePiece(database, removed);
    expect((await listProofs(database, new Set(['a', copy]), '')).get('a')?.foretold).toEqual(TOLD.foretold);
  });
});
