import { crc32 } from 'node:zlib';

const ascii = (text: string): Uint8Array => Uint8Array.from(text, (letter) => letter.charCodeAt(0));

/** A PNG with one more chunk behind its header, its checksum right. */
export function withPngChunk(png: Uint8Array, type: string, data: Uint8Array): Uint8Array {
  const body = Buffer.concat([ascii(type), data]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  sum.writeUInt32BE(crc32(body));
  return new Uint8Array(Buffer.concat([png.subarray(0, 33), length, body, sum, png.subarray(33)]));
}

/** A PNG whose checksums are made right again, as far as its chunks can be followed. */
export function withRightSums(png: Uint8Array): Uint8Array {
  const bytes = Buffer.from(png);
  for (let at = 8; at + 12 <= bytes.length; ) {
    const end = at + 12 + bytes.readUInt32BE(at);
    if (end > bytes.length) break;
    bytes.writeUInt32BE(crc32(bytes.subarray(at + 4, end - 4)), end - 4);
    at = end;
  }
  return new Uint8Array(bytes);
}

export interface TiffEntry {
  readonly tag: number;
  readonly type: number;
  readonly count: number;
  readonly value: number;
}

/** A TIFF stream (as Exif has it too) of one directory behind its header, in little-endian order, followed by zeros. */
export function tiffStream(entries: readonly TiffEntry[], tail = 0, next = 0): Uint8Array {
  const bytes = Buffer.alloc(8 + 2 + 12 * entries.length + 4 + tail);
  bytes.write('II*\0', 'latin1');
  bytes.writeUInt32LE(8, 4);
  bytes.writeUInt16LE(entries.length, 8);
  entries.forEach(({ tag, type, count, value }, i) => {
    const at = 10 + 12 * i;
    bytes.writeUInt16LE(tag, at);
    bytes.writeUInt16LE(type, at + 2);
    bytes.writeUInt32LE(count, at + 4);
    bytes.writeUInt32LE(value, at + 8);
  });
  bytes.writeUInt32LE(next, 10 + 12 * entries.length);
  return new Uint8Array(bytes);
}
