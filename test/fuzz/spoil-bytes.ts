import type { Dice } from './dice.ts';

const LENGTHS = [0, 1, 2, 4, 255, 256, 0x7fff, 0xffff, 0x10000, 0x7fffffff, 0x80000000, 0xfffffffe, 0xffffffff];

/** One of many ways in which bytes come out of a card, a download or another program. */
export function spoilBytes(whole: Uint8Array, dice: Dice): Uint8Array {
  const bytes = Uint8Array.from(whole);
  if (bytes.length < 8) return dice.bytes(dice.below(64));
  // The first few hundred bytes say what the others are.
  const at = dice.below(dice.chance(0.6) ? Math.min(bytes.length, 400) : bytes.length);
  switch (dice.below(9)) {
    case 0:
      return flipBits(bytes, 1, dice);
    case 1:
      return flipBits(bytes, 1 + dice.below(40), dice);
    case 2:
      return bytes.slice(0, dice.below(bytes.length));
    case 3: {
      const view = new DataView(bytes.buffer);
      const place = Math.min(at, bytes.length - 4);
      view.setUint32(place, dice.pick(LENGTHS), dice.chance(0.5));
      return bytes;
    }
    case 4: {
      const view = new DataView(bytes.buffer);
      view.setUint16(Math.min(at, bytes.length - 2), dice.pick(LENGTHS), dice.chance(0.5));
      return bytes;
    }
    case 5:
      return joined(bytes.subarray(0, at), dice.bytes(dice.below(200)), bytes.subarray(at));
    case 6: {
      const part = bytes.subarray(at, at + dice.below(3000));
      const copies = Array.from({ length: 1 + dice.below(dice.chance(0.05) ? 500 : 6) }, () => part);
      return joined(bytes.subarray(0, at), ...copies, bytes.subarray(at));
    }
    case 7:
      return joined(bytes.subarray(0, at), bytes.subarray(at + dice.below(200)));
    default:
      bytes.fill(dice.pick([0, 255, 0x20, 0x80]), at, at + dice.below(200));
      return bytes;
  }
}

export function flipBits(whole: Uint8Array, count: number, dice: Dice): Uint8Array {
  const bytes = Uint8Array.from(whole);
  for (let i = 0; i < count; i++) bytes[dice.below(bytes.length)] ^= 1 << dice.below(8);
  return bytes;
}

export function joined(...parts: readonly Uint8Array[]): Uint8Array {
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.length;
  }
  return bytes;
}
