const floats = new Float32Array(1);
const bits = new Uint32Array(floats.buffer);

// Own code: Float16Array is not everywhere yet, and three's, which cuts off instead of rounding, would bring three into the engine.

/** IEEE 754 binary16 bits of a number, rounded to nearest (ties away from zero), overflow to infinity. */
export function toHalfFloat(value: number): number {
  floats[0] = value;
  const word = bits[0];
  const sign = (word >>> 16) & 0x8000;
  const magnitude = word & 0x7fffffff;
  if (magnitude > 0x7f800000) return sign | 0x7e00;
  if (magnitude >= 0x47800000) return sign | 0x7c00;
  if (magnitude < 0x38800000) {
    // Below the smallest normal half: shift the significand by hand.
    const shift = 126 - (magnitude >>> 23);
    if (shift > 24) return sign;
    return sign | ((((magnitude & 0x7fffff) | 0x800000) + (1 << (shift - 1))) >>> shift);
  }
  return sign | ((magnitude - 0x38000000 + 0x1000) >>> 13);
}

/** The number that binary16 bits stand for. */
export function fromHalfFloat(half: number): number {
  const sign = half & 0x8000 ? -1 : 1;
  const exponent = (half >>> 10) & 31;
  const significand = half & 1023;
  if (exponent === 0) return sign * significand * 2 ** -24;
  if (exponent === 31) return significand ? Number.NaN : sign * Number.POSITIVE_INFINITY;
  return sign * (1 + significand / 1024) * 2 ** (exponent - 15);
}
