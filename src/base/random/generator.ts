import { createSplitMix64 } from './split-mix.ts';

/** A stream of pseudo-random numbers; the same seed gives the same stream everywhere. */
export interface RandomGenerator {
  /** Next whole number, 0 … 2³² − 1. */
  nextUint32(): number;
  /** Next number in [0, 1), in steps of 2⁻³². */
  nextUnit(): number;
  /** Next number of the standard normal distribution (Box and Muller 1958). */
  nextNormal(): number;
}

export type GeneratorState = readonly [number, number, number, number];

/**
 * xoshiro128** from a state of four 32-bit words that are not all zero.
 * Source: D. Blackman, S. Vigna, "Scrambled linear pseudorandom number generators", ACM Trans. Math. Softw. 47(4), 2021
 * (the authors put it in the public domain). Test: reference words for the state 1, 2, 3, 4.
 * @throws RangeError if all words are zero.
 */
export function createGeneratorFromState(state: GeneratorState): RandomGenerator {
  let [a, b, c, d] = state;
  if ((a | b | c | d) === 0) throw new RangeError('a generator state must not be all zero');
  let spare = Number.NaN;

  const nextUint32 = (): number => {
    const scrambled = Math.imul(rotateLeft(Math.imul(b, 5), 7), 9) >>> 0;
    const shifted = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= shifted;
    d = rotateLeft(d, 11);
    return scrambled;
  };
  const nextUnit = (): number => nextUint32() / 4294967296;
  const nextNormal = (): number => {
    if (!Number.isNaN(spare)) {
      const kept = spare;
      spare = Number.NaN;
      return kept;
    }
    const radius = Math.sqrt(-2 * Math.log(1 - nextUnit()));
    const angle = 2 * Math.PI * nextUnit();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
  return { nextUint32, nextUnit, nextNormal };
}

/**
 * Seeded generator: xoshiro128** whose state SplitMix64 spreads from the seed.
 * @param seed whole number, 0 … 2⁵³ − 1.
 * @throws RangeError for any other seed.
 */
export function createGenerator(seed: number): RandomGenerator {
  if (!Number.isSafeInteger(seed) || seed < 0) throw new RangeError(`a seed is a whole number ≥ 0, got ${seed}`);
  const next = createSplitMix64(BigInt(seed));
  const first = next();
  const second = next();
  const words = [first & 0xffffffffn, first >> 32n, second & 0xffffffffn, second >> 32n].map(Number);
  return createGeneratorFromState([words[0], words[1], words[2], words[3]]);
}

const rotateLeft = (word: number, bits: number): number => (word << bits) | (word >>> (32 - bits));
