/** A stream of pseudo-random numbers; the same seed gives the same stream everywhere. */
export interface RandomGenerator {
  /** Next whole number, 0 … 2³² − 1. */
  nextUint32(): number;
  /** Next number in [0, 1), in steps of 2⁻³². */
  nextUnit(): number;
  /** Next number of the standard normal distribution (Box and Muller 1958). */
  nextNormal(): number;
}

type GeneratorState = readonly [number, number, number, number];

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

const MASK = 0xffffffffffffffffn;

/**
 * SplitMix64: 64-bit words from a 64-bit state that simply counts up; here only to spread a small seed over a larger state.
 * Source: G. Steele, D. Lea, C. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014, fig. 17 and
 * S. Vigna's public-domain variant. Test: reference words for the seed 1234567.
 * @param seed any whole number ≥ 0; only its low 64 bits count.
 * @returns a function that yields the next word, 0 … 2⁶⁴ − 1.
 */
export function createSplitMix64(seed: bigint): () => bigint {
  let state = seed & MASK;
  return () => {
    state = (state + 0x9e3779b97f4a7c15n) & MASK;
    let word = state;
    word = ((word ^ (word >> 30n)) * 0xbf58476d1ce4e5b9n) & MASK;
    word = ((word ^ (word >> 27n)) * 0x94d049bb133111ebn) & MASK;
    return word ^ (word >> 31n);
  };
}

/**
 * Random numbers that belong to a place instead of a moment: the same seed and lattice point always give the same number,
 * in whatever order, swath or worker they are asked for.
 *
 * The hash is PCG3D: a linear congruential step per word, then two rounds of cross-multiplication.
 * Source: M. Jarzynski, M. Olano, "Hash functions for GPU rendering", J. Computer Graphics Techniques 9(3), 2020, listing 16.
 * Whole numbers are taken modulo 2³², so negative lattice points are fine.
 */
let first = 0;

let second = 0;

function hashThreeWords(seed: number, ix: number, iy: number): void {
  let x = (Math.imul(ix, 1664525) + 1013904223) | 0;
  let y = (Math.imul(iy, 1664525) + 1013904223) | 0;
  let z = (Math.imul(seed, 1664525) + 1013904223) | 0;
  x = (x + Math.imul(y, z)) | 0;
  y = (y + Math.imul(z, x)) | 0;
  z = (z + Math.imul(x, y)) | 0;
  x ^= x >>> 16;
  y ^= y >>> 16;
  z ^= z >>> 16;
  x = (x + Math.imul(y, z)) | 0;
  y = (y + Math.imul(z, x)) | 0;
  first = x >>> 0;
  second = y >>> 0;
}

/** Evenly distributed number in [0, 1), in steps of 2⁻³², for a lattice point. */
export function hashToUnit(seed: number, ix: number, iy: number): number {
  hashThreeWords(seed, ix, iy);
  return first / 4294967296;
}

/** Number of the standard normal distribution for a lattice point (Box and Muller 1958); at most 6.8 away from 0. */
export function hashToNormal(seed: number, ix: number, iy: number): number {
  hashThreeWords(seed, ix, iy);
  const radius = Math.sqrt(-2 * Math.log((first + 0.5) / 4294967296));
  return radius * Math.cos((2 * Math.PI * second) / 4294967296);
}
