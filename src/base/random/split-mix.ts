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
