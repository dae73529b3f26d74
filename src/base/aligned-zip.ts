/** Bytes at a multiple of which the data of each file starts. */
const ZIP_ALIGNMENT = 64;

const LOCAL = 30;

const CENTRAL = 46;

/** Kind of the extra field that only pads; any reader skips kinds that it does not know (APPNOTE 4.5.1). */
const PADDING = 0x1986;

/** The earliest that the format can say, for all archives: the same files give the same bytes. As a local time, and as the format counts days. */
export const ARCHIVE_TIME = '1980-01-01T00:00:00';

const DATE = 0x21;

/**
 * A zip of stored files (PKWARE APPNOTE 6.3.9, 4.3), each file's data aligned to 64 bytes by an extra field in its local header.
 * Names must be plain ASCII. `checksum` is CRC-32.
 */
export function alignedZip(
  files: readonly { readonly name: string; readonly bytes: Uint8Array }[],
  checksum: (bytes: Uint8Array) => number,
): Uint8Array {
  const places: number[] = [];
  const extras: number[] = [];
  let at = 0;
  for (const { name, bytes } of files) {
    places.push(at);
    let extra = (ZIP_ALIGNMENT - ((at + LOCAL + name.length) % ZIP_ALIGNMENT)) % ZIP_ALIGNMENT;
    if (extra > 0 && extra < 4) extra += ZIP_ALIGNMENT;
    extras.push(extra);
    at += LOCAL + name.length + extra + bytes.length;
  }
  const directory = at;
  const total = directory + files.reduce((sum, { name }) => sum + CENTRAL + name.length, 0) + 22;
  const out = new Uint8Array(total);
  const words = new DataView(out.buffer);
  const u16 = (place: number, value: number): void => words.setUint16(place, value, true);
  const u32 = (place: number, value: number): void => words.setUint32(place, value, true);
  let entry = directory;
  files.forEach(({ name, bytes }, i) => {
    const crc = checksum(bytes);
    const letters = Uint8Array.from(name, (letter) => letter.charCodeAt(0));
    /** What a local header and an entry of the directory have in common, from the version needed to the name's length. */
    const common = (place: number): void => {
      u16(place, 20);
      u16(place + 8, DATE);
      u32(place + 10, crc);
      u32(place + 14, bytes.length);
      u32(place + 18, bytes.length);
      u16(place + 22, name.length);
    };
    const start = places[i];
    u32(start, 0x04034b50);
    common(start + 4);
    u16(start + 28, extras[i]);
    out.set(letters, start + LOCAL);
    if (extras[i] > 0) {
      u16(start + LOCAL + name.length, PADDING);
      u16(start + LOCAL + name.length + 2, extras[i] - 4);
    }
    out.set(bytes, start + LOCAL + name.length + extras[i]);
    u32(entry, 0x02014b50);
    u16(entry + 4, 20);
    common(entry + 6);
    u32(entry + 42, start);
    out.set(letters, entry + CENTRAL);
    entry += CENTRAL + name.length;
  });
  u32(entry, 0x06054b50);
  u16(entry + 8, files.length);
  u16(entry + 10, files.length);
  u32(entry + 12, entry - directory);
  u32(entry + 16, directory);
  return out;
}

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
