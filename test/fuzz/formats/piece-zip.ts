import { createPiece } from '../../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile, type PieceFile, sealZip } from '../../../src/piece/file.ts';
import { type ZipPart, zipOf } from '../../helpers/zip-parts.ts';
import type { Dice } from '../dice.ts';
import { type Format, textBytes } from '../format.ts';
import { flipBits, spoilBytes } from '../spoil-bytes.ts';
import { spoilJson } from '../spoil-json.ts';

const made = createPiece('Landing', 'landing.jpg');

const someFile = (dice: Dice): PieceFile => ({
  piece: made,
  images: new Map(
    ['landing.jpg', 'Brücke & 船.png', ''].slice(0, dice.below(4)).map((name) => [name, dice.bytes(dice.below(4000))]),
  ),
});

/** Without the seal of ours, as another program would write it. */
function unsealed(bytes: Uint8Array): Uint8Array {
  const plain = bytes.slice(0, bytes.length - 23);
  plain.set([0, 0], plain.length - 2);
  return plain;
}

const lies = (dice: Dice): Partial<ZipPart> => {
  const number = () => dice.pick([0, 1, 100, 0x7fffffff, 0xffffffff]);
  return dice.pick<Partial<ZipPart>>([
    { says: { sum: number() } },
    { says: { size: number() } },
    { says: { packed: number() } },
    { lists: { name: dice.pick(['', 'piece.json', 'x'.repeat(40_000), '../up']) } },
    { lists: { offset: number() } },
    { lists: { size: number() } },
    { flags: dice.below(65536) },
  ]);
};

export const pieceZip: Format = {
  make(dice) {
    const whole = encodePieceFile(someFile(dice));
    switch (dice.below(6)) {
      case 0:
        return { bytes: whole };
      case 1: {
        const bytes = flipBits(whole, 1, dice);
        return { bytes, mustRefuse: true };
      }
      case 2: {
        const bytes = spoilBytes(whole, dice);
        return { bytes, mustRefuse: Buffer.compare(bytes, whole) !== 0 };
      }
      case 3:
        return { bytes: spoilBytes(unsealed(whole), dice) };
      case 4:
        // Damage that the seal does not show: it was made afterwards.
        return { bytes: sealZip(flipBits(unsealed(whole), 1 + dice.below(3), dice)) };
      default: {
        const json = textBytes(spoilJson(JSON.stringify(made), dice));
        const bomb = dice.chance(0.03) ? new Uint8Array(10 ** (5 + dice.below(4))) : dice.bytes(200);
        const parts: ZipPart[] = [
          { name: 'piece.json', data: json, deflate: dice.chance(0.5) },
          { name: 'images/landing.jpg', data: bomb, deflate: dice.chance(0.5) },
        ];
        const at = dice.below(2);
        parts[at] = { ...parts[at], ...lies(dice) };
        return {
          bytes: zipOf(dice.chance(0.1) ? [...parts, parts[at]] : parts, { between: dice.chance(0.1) ? 4 : 0 }),
        };
      }
    }
  },
  take(bytes) {
    const told = (file: PieceFile) =>
      JSON.stringify([
        file.piece,
        ...[...file.images].map(([name, data]) => [name, Buffer.from(data).toString('base64')]),
      ]);
    const file = decodePieceFile(bytes);
    return { told: told(file), again: () => told(decodePieceFile(encodePieceFile(file))) };
  },
};
