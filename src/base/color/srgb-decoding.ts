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
