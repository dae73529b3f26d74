import { crc32 } from '../base/crc32.ts';
import type { ByteReader } from './byte-reader.ts';
import { readExifOrientation } from './exif-orientation.ts';
import type { Orientation } from './orientation.ts';
import { damaged, PictureError } from './picture-error.ts';
import type { PictureInfo } from './picture-info.ts';

/** By colour type. */
const MODELS: Record<number, readonly [colorModel: PictureInfo['colorModel'], hasAlpha: boolean]> = {
  0: ['grey', false],
  2: ['rgb', false],
  3: ['palette', false],
  4: ['grey', true],
  6: ['rgb', true],
};

/**
 * Walks all chunks of a PNG stream to its end and checks the checksum of each: decoders pass over damaged profiles without a word.
 * Source: W3C Portable Network Graphics (PNG) Specification, Third Edition, clauses 5 and 11.
 * @throws PictureError: truncated, damaged, animated.
 */
export function inspectPng(reader: ByteReader): PictureInfo {
  if (reader.text(12, 4) !== 'IHDR' || reader.uint32(8) !== 13) throw damaged('no image header');
  const width = reader.uint32(16);
  const height = reader.uint32(20);
  const bitDepth = reader.uint8(24);
  const model = MODELS[reader.uint8(25)];
  if (!model) throw damaged('unknown colour type');

  let orientation: Orientation = 1;
  let hasIccProfile = false;
  let hasTransparency = false;
  let hasData = false;
  for (let at = 8; ; ) {
    const end = at + 12 + reader.uint32(at);
    const type = reader.text(at + 4, 4);
    reader.mustReach(end);
    if (crc32(reader.bytes.subarray(at + 4, end - 4)) !== reader.uint32(end - 4)) {
      throw damaged(`the checksum of ${/^[A-Za-z]{4}$/.test(type) ? `its part ${type}` : 'a part of it'} is wrong`);
    }
    if (type === 'IEND') break;
    if (type === 'acTL') {
      throw new PictureError('animated', 'is an animated PNG. Save the one frame you want as a still PNG or JPEG.');
    }
    if (type === 'IDAT') hasData = true;
    if (type === 'iCCP') hasIccProfile = true;
    if (type === 'tRNS') hasTransparency = true;
    if (type === 'eXIf') orientation = readExifOrientation(reader.bytes.subarray(at + 8, end - 4));
    at = end;
  }
  if (!hasData) throw damaged('it holds no image');
  const [colorModel, hasAlpha] = model;
  return {
    format: 'png',
    width,
    height,
    orientation,
    bitDepth,
    hasAlpha: hasAlpha || hasTransparency,
    colorModel,
    hasIccProfile,
  };
}
