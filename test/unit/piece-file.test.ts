import { strToU8, unzipSync, zipSync } from 'fflate';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { LIMITS } from '../../src/base/input-error.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile, PieceError, type PieceFile } from '../../src/piece/file.ts';
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

test('what is more than a file may hold is not written', () => {
  const huge = new Uint8Array(LIMITS.pieceBytes);
  expect(() => encodePieceFile({ ...file, images: new Map([['huge.png', huge]]) })).toThrow(
    'it has more than 256 MiB with its pictures',
  );
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

  test('with any one bit flipped, even one that would change nothing', () => {
    const small = encodePieceFile({ piece: file.piece, images: new Map([['a.png', bytesOf(3, 40)]]) });
    for (let bit = 0; bit < 8 * small.length; bit++) {
      const spoiled = small.slice();
      spoiled[bit >> 3] ^= 1 << (bit & 7);
      expect(() => decodePieceFile(spoiled), `bit ${bit}`).toThrow(PieceError);
    }
  });

  test('with a flipped bit in a picture', () => {
    const spoiled = whole.slice();
    spoiled[whole.length - 2000] ^= 4;
    expect(() => decodePieceFile(spoiled)).toThrow('it is not as it was saved: the checksum over all of it is wrong');
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
});
