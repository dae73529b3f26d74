let table: Uint32Array | undefined;

/**
 * CRC-32 as PNG uses it (polynomial 0xEDB88320, reflected, all ones before and after).
 * Source: W3C PNG Specification, Annex D (there as an example in C). Test: the letters `123456789` give 0xCBF43926.
 */
export function crc32(bytes: Uint8Array): number {
  table ??= Uint32Array.from({ length: 256 }, (_, byte) => {
    let rest = byte;
    for (let bit = 0; bit < 8; bit++) rest = rest & 1 ? (rest >>> 1) ^ 0xedb88320 : rest >>> 1;
    return rest;
  });
  let crc = 0xffffffff;
  for (let i = 0; i < bytes.length; i++) crc = (crc >>> 8) ^ table[(crc ^ bytes[i]) & 0xff];
  return ~crc >>> 0;
}
