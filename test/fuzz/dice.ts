import { createGenerator } from '../../src/base/random/generator.ts';

/** Luck that can be had again: the same for the same words. */
export interface Dice {
  /** 0 to `count` − 1. */
  below(count: number): number;
  chance(share: number): boolean;
  pick<One>(from: readonly One[]): One;
  bytes(length: number): Uint8Array;
}

export function createDice(...words: readonly (string | number)[]): Dice {
  let hash = 0x811c9dc5;
  for (const char of words.join(' ')) hash = Math.imul(hash ^ char.charCodeAt(0), 0x01000193) >>> 0;
  const random = createGenerator(hash);
  const below = (count: number): number => Math.floor(random.nextUnit() * count);
  return {
    below,
    chance: (share) => random.nextUnit() < share,
    pick: (from) => from[below(from.length)],
    bytes: (length) => Uint8Array.from({ length }, () => random.nextUint32() & 255),
  };
}
