import { strToU8, unzipSync, zipSync } from 'fflate';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { createPiece } from '../../src/core/piece/defaults.ts';
import { decodePieceFile, encodePieceFile, type PieceFile } from '../../src/core/piece/file.ts';
import { PieceError } from '../../src/core/piece/parse.ts';
import { createGenerator } from '../../src/core/random/generator.ts';
import { randomPiece } from '../helpers/random-piece.ts';

const bytesOf = (seed: number, length: number): Uint8Array => {
  const random = createGenerator(seed);
  return Uint8Array.from({ length }, () => random.nextUint32() & 255);
};
const file: PieceFile = {
  piece: createPiece('Hollin Reach', 'reach.jpg'),
  images: new Map([
    ['reach.jpg', bytesOf(1, 5000)],
    ['Brücke & 船.png', bytesOf(2, 10)],
    ['empty.png', new Uint8Array(0)],
  ]),
};

describe('a piece file', () => {
  test('comes back as it was, images byte for byte', () => {
    const back = decodePieceFile(encodePieceFile(file));
    expect(back.piece).toEqual(file.piece);
    expect([...back.images.keys()]).toEqual([...file.images.keys()]);
    for (const [name, bytes] of file.images) expect(back.images.get(name)).toEqual(bytes);
  });

  test('so do random pieces', () => {
    for (let seed = 200; seed < 240; seed++) {
      const piece = randomPiece(seed);
      const images = new Map([[`${seed}.png`, bytesOf(seed, seed)]]);
      expect(decodePieceFile(encodePieceFile({ piece, images }))).toEqual({ piece, images });
    }
  });

  test('equal pieces make equal files, whenever they are saved', () => {
    const first = encodePieceFile(file);
    vi.useFakeTimers({ now: new Date('2031-05-06T07:08:10Z') });
    onTestFinished(() => {
      vi.useRealTimers();
    });
    expect(encodePieceFile({ piece: structuredClone(file.piece), images: new Map(file.images) })).toEqual(first);
    expect(encodePieceFile({ ...file, piece: { ...file.piece, name: 'other' } })).not.toEqual(first);
  });

  test('holds readable JSON and its images under images/', () => {
    const entries = unzipSync(encodePieceFile(file));
    expect(Object.keys(entries)).toEqual([
      'piece.json',
      'images/reach.jpg',
      'images/Brücke & 船.png',
      'images/empty.png',
    ]);
    expect(new TextDecoder().decode(entries['piece.json'])).toContain('\n  "format": "foreburn",\n');
  });

  test('a bare piece.json is one too, with a byte-order mark as well', () => {
    const text = JSON.stringify(file.piece);
    expect(decodePieceFile(strToU8(text))).toEqual({ piece: file.piece, images: new Map() });
    expect(decodePieceFile(strToU8(`\ufeff${text}`)).piece).toEqual(file.piece);
  });
});

describe('a file that is damaged or none', () => {
  const whole = encodePieceFile(file);

  test('empty', () => expect(() => decodePieceFile(new Uint8Array(0))).toThrow('the file is empty'));

  test('cut off anywhere', () => {
    for (const share of [0.0005, 0.01, 0.2, 0.5, 0.9, 0.999]) {
      const cut = whole.subarray(0, Math.max(2, Math.floor(whole.length * share)));
      expect(() => decodePieceFile(cut)).toThrow(PieceError);
      expect(() => decodePieceFile(cut)).toThrow(/^the file is damaged: it cannot be unpacked \(.+\)$/);
    }
  });

  test('with flipped bits: it is told, or nothing that matters was hit; nothing else is thrown', () => {
    const random = createGenerator(77);
    let told = 0;
    for (let round = 0; round < 300; round++) {
      const spoiled = whole.slice();
      // The first kilobyte holds the piece.
      spoiled[Math.floor(random.nextUnit() * (round % 2 === 0 ? 1000 : spoiled.length))] ^=
        1 << (random.nextUint32() & 7);
      try {
        decodePieceFile(spoiled);
      } catch (error) {
        expect(error).toBeInstanceOf(PieceError);
        told++;
      }
    }
    expect(told).toBeGreaterThan(20);
  });

  test('a zip without a piece', () => {
    const other = zipSync({ 'readme.txt': strToU8('hello') });
    expect(() => decodePieceFile(other)).toThrow('this is not a Foreburn piece: it holds no piece.json');
    // Nor is a piece in a folder one.
    expect(() => decodePieceFile(zipSync({ 'images/piece.json': strToU8('{}') }))).toThrow('it holds no piece.json');
  });

  test('a zip whose piece is wrong', () => {
    const wrong = zipSync({ 'piece.json': strToU8('{"format": "foreburn", "version": 99}') });
    expect(() => decodePieceFile(wrong)).toThrow(/newer Foreburn/);
    expect(() => decodePieceFile(zipSync({ 'piece.json': strToU8('{') }))).toThrow(/its JSON cannot be read/);
  });

  test('a picture', () => {
    expect(() => decodePieceFile(Uint8Array.of(0xff, 0xd8, 0xff, 0xe0, 1, 2, 3))).toThrow(PieceError);
  });

  test('one that would unpack to more than memory holds', () => {
    // The size that the directory states is what counts: 4 GiB − 1 in place of the first entry's.
    const spoiled = whole.slice();
    const view = new DataView(spoiled.buffer);
    for (let at = 0; at + 46 < spoiled.length; at++) {
      if (view.getUint32(at, true) === 0x02014b50) {
        view.setUint32(at + 24, 0xfffffffe, true);
        break;
      }
    }
    expect(() => decodePieceFile(spoiled)).toThrow('it unpacks to more than 1 GiB');
  });
});
