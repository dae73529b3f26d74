import type { ByteReader } from './byte-reader.ts';
import { readExifOrientation } from './exif-orientation.ts';
import type { Orientation } from './orientation.ts';
import { damaged, PictureError, truncated, unsupportedEncoding } from './picture-error.ts';
import type { PictureInfo } from './picture-info.ts';

const START_OF_SCAN = 0xda;
const END_OF_IMAGE = 0xd9;

/**
 * Walks all segments of a JPEG stream to its end.
 * Source: ITU-T T.81 (1992), annex B; Exif 2.32, 4.7.2; ICC.1:2010, B.4.
 * @throws PictureError: truncated, damaged, CMYK, unsupported encoding.
 */
export function inspectJpeg(reader: ByteReader): PictureInfo {
  let frame: { bitDepth: number; width: number; height: number; components: number } | null = null;
  let orientation: Orientation = 1;
  let hasIccProfile = false;

  for (let at = 2; ; ) {
    // Stray bytes before a marker are passed over, as decoders do.
    at = reader.bytes.indexOf(0xff, at);
    if (at < 0) throw truncated();
    const marker = reader.uint8(at + 1);
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === END_OF_IMAGE) break;
    const length = reader.uint16(at + 2);
    const segment = at + 4;
    const end = at + 2 + length;
    if (length < 2) throw damaged('a segment has no length');
    reader.mustReach(end);
    if (isStartOfFrame(marker)) {
      if (marker > 0xc2) throw unsupportedEncoding('is a JPEG of a rare kind');
      if (frame) throw damaged('it says twice how large it is');
      frame = {
        bitDepth: reader.uint8(segment),
        height: reader.uint16(segment + 1),
        width: reader.uint16(segment + 3),
        components: reader.uint8(segment + 5),
      };
    } else if (marker === 0xe1 && length >= 8 && reader.text(segment, 4) === 'Exif') {
      orientation = readExifOrientation(reader.bytes.subarray(segment, end));
    } else if (marker === 0xe2 && length >= 14 && reader.text(segment, 11) === 'ICC_PROFILE') {
      hasIccProfile = true;
    }
    at = marker === START_OF_SCAN ? skipScan(reader.bytes, end) : end;
  }

  if (!frame) throw damaged('it holds no image');
  if (frame.components === 4) {
    throw new PictureError(
      'cmyk',
      'is a CMYK JPEG, made for a printing press. Convert it to RGB in an image editor and save it as PNG or JPEG.',
    );
  }
  if (frame.components !== 1 && frame.components !== 3)
    throw unsupportedEncoding(`has ${frame.components} colour channels`);
  if (frame.bitDepth !== 8) throw unsupportedEncoding(`is a JPEG of ${frame.bitDepth} bits`);
  const { width, height, bitDepth, components } = frame;
  const colorModel = components === 1 ? 'grey' : 'rgb';
  return { format: 'jpeg', width, height, orientation, bitDepth, hasAlpha: false, colorModel, hasIccProfile };
}

/** All of C0–CF but the tables for Huffman and arithmetic coding and the extension. */
const isStartOfFrame = (marker: number): boolean =>
  marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;

/** Where the next marker stands after the coded data that start at `from`: stuffed zeros and restart markers belong to them. */
function skipScan(bytes: Uint8Array, from: number): number {
  for (let at = from; ; at += 2) {
    at = bytes.indexOf(0xff, at);
    if (at < 0 || at + 1 >= bytes.length) throw truncated();
    const next = bytes[at + 1];
    if (next === 0xff) at--;
    else if (next !== 0 && !(next >= 0xd0 && next <= 0xd7)) return at;
  }
}
