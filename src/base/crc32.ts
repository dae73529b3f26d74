/** Four bytes are taken at a time: `TABLES[256 · k + byte]` is what a byte does with k zero bytes after it. */
let tables: Uint32Array | undefined;

/**
 * CRC-32 as PNG and zip use it (polynomial 0xEDB88320, reflected, all ones before and after).
 * Source: W3C PNG Specification, Annex D (there as an example in C). Test: the letters `123456789` give 0xCBF43926.
 */
export function crc32(bytes: Uint8Array): number {
  tables ??= makeTables();
  const t = tables;
  const whole = bytes.length - (bytes.length % 4);
  let crc = -1;
  let i = 0;
  for (; i < whole; i += 4) {
    crc ^= bytes[i] | (bytes[i + 1] << 8) | (bytes[i + 2] << 16) | (bytes[i + 3] << 24);
    crc = t[768 + (crc & 255)] ^ t[512 + ((crc >>> 8) & 255)] ^ t[256 + ((crc >>> 16) & 255)] ^ t[crc >>> 24];
  }
  for (; i < bytes.length; i++) crc = (crc >>> 8) ^ t[(crc ^ bytes[i]) & 255];
  return ~crc >>> 0;
}

function makeTables(): Uint32Array {
  const made = new Uint32Array(1024);
  for (let byte = 0; byte < 256; byte++) {
    let rest = byte;
    for (let bit = 0; bit < 8; bit++) rest = rest & 1 ? (rest >>> 1) ^ 0xedb88320 : rest >>> 1;
    made[byte] = rest;
  }
  for (let i = 256; i < 1024; i++) made[i] = (made[i - 256] >>> 8) ^ made[made[i - 256] & 255];
  return made;
}
