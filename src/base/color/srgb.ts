/** sRGB encoding of a linear value 0–1 (IEC 61966-2-1). */
export function encodeSrgb(linear: number): number {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
}

/** Fine enough that one step near black is half a code. */
const STEPS = 8192;
const table = Uint8Array.from({ length: STEPS + 1 }, (_, i) => Math.round(255 * encodeSrgb(i / STEPS)));

/** sRGB byte of a linear value, clipped; from a table over the linear value, right to within one code. */
export function encodeSrgbByte(linear: number): number {
  return table[linear <= 0 ? 0 : linear >= 1 ? STEPS : (linear * STEPS + 0.5) | 0];
}
