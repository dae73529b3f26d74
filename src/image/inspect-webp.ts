import type { ByteReader } from './byte-reader.ts';
import { readExifOrientation } from './exif-orientation.ts';
import type { Orientation } from './orientation.ts';
import { damaged, PictureError, truncated } from './picture-error.ts';
import type { PictureInfo } from './picture-info.ts';

/**
 * Walks all chunks of a WebP file: plain lossy, plain lossless, or extended.
 * Source: RFC 9649 (2024), sections 2 and 3; RFC 6386 (2011), 9.1, for the size of a lossy frame.
 * @throws PictureError: truncated, damaged, animated.
 */
export function inspectWebp(reader: ByteReader): PictureInfo {
  const fileEnd = 8 + reader.uint32(4, true);
  if (fileEnd > reader.bytes.length) throw truncated();

  let size: { width: number; height: number } | null = null;
  let hasImage = false;
  let hasAlpha = false;
  let hasIccProfile = false;
  let orientation: Orientation = 1;
  for (let at = 12; at + 8 <= fileEnd; ) {
    const type = reader.text(at, 4);
    const data = at + 8;
    const length = reader.uint32(at + 4, true);
    reader.mustReach(data + length);
    if (type === 'VP8X') {
      const flags = reader.uint8(data);
      if (flags & 0x02) throw animated();
      hasAlpha ||= (flags & 0x10) !== 0;
      size = { width: 1 + uint24(reader, data + 4), height: 1 + uint24(reader, data + 7) };
    } else if (type === 'VP8L') {
      if (reader.uint8(data) !== 0x2f) throw damaged('no lossless image');
      const bits = reader.uint32(data + 1, true);
      size ??= { width: 1 + (bits & 0x3fff), height: 1 + ((bits >>> 14) & 0x3fff) };
      hasAlpha ||= ((bits >>> 28) & 1) !== 0;
      hasImage = true;
    } else if (type === 'VP8 ') {
      if (uint24(reader, data + 3) !== 0x2a019d) throw damaged('no lossy image');
      size ??= { width: reader.uint16(data + 6, true) & 0x3fff, height: reader.uint16(data + 8, true) & 0x3fff };
      hasImage = true;
    } else if (type === 'ANIM' || type === 'ANMF') {
      throw animated();
    } else if (type === 'ICCP') {
      hasIccProfile = true;
    } else if (type === 'EXIF') {
      orientation = readExifOrientation(reader.bytes.subarray(data, data + length));
    }
    at = data + length + (length % 2);
  }
  if (!size || !hasImage) throw damaged('it holds no image');
  return { format: 'webp', ...size, orientation, bitDepth: 8, hasAlpha, colorModel: 'rgb', hasIccProfile };
}

const uint24 = (reader: ByteReader, offset: number): number =>
  reader.uint16(offset, true) | (reader.uint8(offset + 2) << 16);

const animated = (): PictureError =>
  new PictureError('animated', 'is an animated WebP. Save the one frame you want as a still PNG or JPEG.');
