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

/**
 * Linear-light value (0–1) of an encoded sRGB value (0–1): the transfer function of IEC 61966-2-1:1999, 5.2.
 * Test: encoded 0.461356129500442 is 0.18.
 */
export function decodeSrgb(encoded: number): number {
  return encoded <= 0.04045 ? encoded / 12.92 : ((encoded + 0.055) / 1.055) ** 2.4;
}

let table8: Float32Array | undefined;

let table16: Float32Array | undefined;

/** `decodeSrgb` of every 8-bit or 16-bit code, made at the first call and kept. */
export function srgbDecodingTable(bits: 8 | 16): Float32Array {
  if (bits === 8) {
    table8 ??= tabulate(256);
    return table8;
  }
  table16 ??= tabulate(65536);
  return table16;
}

const tabulate = (codes: number): Float32Array =>
  Float32Array.from({ length: codes }, (_, i) => decodeSrgb(i / (codes - 1)));

/** Luminance (CIE Y over that of white, 0–1) of linear sRGB. Source: weights of IEC 61966-2-1:1999, the primaries of Rec. ITU-R BT.709. */
export const luminanceOf = ([r, g, b]: readonly number[]): number => 0.2126 * r + 0.7152 * g + 0.0722 * b;
