import { crc32 } from '../base/aligned-zip.ts';
import { inMiB, LIMITS } from '../base/input-error.ts';
import type { Orientation } from './picture.ts';
import { damaged, PictureError, truncated, unsupportedEncoding } from './picture-error.ts';

// Own code: libraries read a head and stop there; whether all of a file is there shows only to who walks it to its end.

const START_OF_SCAN = 0xda;

const END_OF_IMAGE = 0xd9;

/**
 * Walks all segments of a JPEG stream to its end.
 * Source: ITU-T T.81 (1992), annex B; Exif 2.32, 4.7.2; ICC.1:2010, B.4.
 * @throws PictureError: truncated, damaged, CMYK, unsupported encoding.
 */
function inspectJpeg(reader: ByteReader): PictureInfo {
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

/** By colour type. */
const PNG_MODELS: Record<number, readonly [colorModel: PictureInfo['colorModel'], hasAlpha: boolean]> = {
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
function inspectPng(reader: ByteReader): PictureInfo {
  if (reader.text(12, 4) !== 'IHDR' || reader.uint32(8) !== 13) throw damaged('no image header');
  const width = reader.uint32(16);
  const height = reader.uint32(20);
  const bitDepth = reader.uint8(24);
  const model = PNG_MODELS[reader.uint8(25)];
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

/** One image file directory of a TIFF stream: its tags, and where the next one starts (0: nowhere). */
interface TiffDirectory {
  readonly tags: ReadonlyMap<number, ArrayLike<number>>;
  readonly next: number;
}

/** Bytes of a value by field type, 0 for unused numbers. */
const SIZES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4];

/** Field types whose values are read: short, long, offset. Other tags are listed without values. */
const READ = new Set([3, 4, 13]);

/** Values of one tag: more than the largest picture has tiles of 16 × 16. */
const MOST_VALUES = 1 << 20;

/**
 * Reads the byte order and where the first directory starts.
 * Source: TIFF Revision 6.0 (1992), section 2.
 * @throws PictureError if it is no TIFF stream.
 */
function readTiffHeader(reader: ByteReader): { littleEndian: boolean; first: number } {
  const order = reader.text(0, 2);
  const littleEndian = order === 'II';
  if ((!littleEndian && order !== 'MM') || reader.uint16(2, littleEndian) !== 42) throw damaged('no TIFF header');
  return { littleEndian, first: reader.uint32(4, littleEndian) };
}

/**
 * Reads the directory at `offset`, of it the tags that are wanted: entries may all point to the same bytes, so that the values of all of
 * them together can be many times the file. A tag that comes again is passed over.
 * @throws PictureError if it reaches beyond the end or holds more values than any picture needs.
 */
function readTiffDirectory(
  reader: ByteReader,
  littleEndian: boolean,
  offset: number,
  wanted: ReadonlySet<number>,
): TiffDirectory {
  const tags = new Map<number, Uint32Array>();
  const entries = reader.uint16(offset, littleEndian);
  for (let i = 0; i < entries; i++) {
    const entry = offset + 2 + i * 12;
    const tag = reader.uint16(entry, littleEndian);
    const type = reader.uint16(entry + 2, littleEndian);
    const size = SIZES[type] ?? 0;
    const count = reader.uint32(entry + 4, littleEndian);
    const at = size * count <= 4 ? entry + 8 : reader.uint32(entry + 8, littleEndian);
    reader.mustReach(at + size * count);
    if (!wanted.has(tag) || tags.has(tag)) continue;
    const length = READ.has(type) ? count : 0;
    if (length > MOST_VALUES) throw damaged('a list in it is too long');
    const value = size === 2 ? reader.uint16 : reader.uint32;
    const values = new Uint32Array(length);
    for (let k = 0; k < length; k++) values[k] = value(at + k * size, littleEndian);
    tags.set(tag, values);
  }
  return { tags, next: reader.uint32(offset + 2 + entries * 12, littleEndian) };
}

const ORIENTATION = 274;

/** The orientation in a directory's tags; 1 if it says none or nonsense. */
function orientationOf(tags: TiffDirectory['tags']): Orientation {
  const value = tags.get(ORIENTATION)?.[0] ?? 1;
  return value >= 1 && value <= 8 ? (value as Orientation) : 1;
}

const TAG = {
  newSubfileType: 254,
  imageWidth: 256,
  imageLength: 257,
  bitsPerSample: 258,
  photometric: 262,
  stripOffsets: 273,
  stripByteCounts: 279,
  samplesPerPixel: 277,
  tileOffsets: 324,
  tileByteCounts: 325,
  extraSamples: 338,
  sampleFormat: 339,
  iccProfile: 34675,
} as const;

const WANTED = new Set<number>([...Object.values(TAG), ORIENTATION]);

/** Reduced copies that a picture may have beside it: one for each halving. */
const MOST_COPIES = 16;

/** By PhotometricInterpretation: white is zero, black is zero, RGB, palette, YCbCr. */
const TIFF_MODELS: Record<number, PictureInfo['colorModel']> = {
  0: 'grey',
  1: 'grey',
  2: 'rgb',
  3: 'palette',
  6: 'rgb',
};

const SEPARATED = 5;

/**
 * Reads the first directory of a TIFF file and makes sure that its strips or tiles are there. Further directories may only hold
 * reduced copies of the same picture.
 * Source: TIFF Revision 6.0 (1992), sections 2–8, 15, 16, 18.
 * @throws PictureError: truncated, damaged, CMYK, several pages, unsupported encoding.
 */
function inspectTiff(reader: ByteReader): PictureInfo {
  const { littleEndian, first } = readTiffHeader(reader);
  const { tags, next } = readTiffDirectory(reader, littleEndian, first, WANTED);
  if (hasFurtherPage(reader, littleEndian, first, next)) {
    throw new PictureError(
      'several-pages',
      'is a TIFF with several pages. Save the page you want as a PNG or JPEG of its own.',
    );
  }
  const photometric = tags.get(TAG.photometric)?.[0] ?? 1;
  if (photometric === SEPARATED) {
    throw new PictureError(
      'cmyk',
      'is a CMYK TIFF, made for a printing press. Convert it to RGB in an image editor and save it as PNG or JPEG.',
    );
  }
  const colorModel = TIFF_MODELS[photometric];
  const bitDepth = tags.get(TAG.bitsPerSample)?.[0] ?? 1;
  if (!colorModel) throw unsupportedEncoding('is a TIFF in an unusual colour space');
  if (bitDepth > 16 || (tags.get(TAG.sampleFormat)?.[0] ?? 1) !== 1) {
    throw unsupportedEncoding('is a TIFF of more than 16 bits or with fractional values');
  }
  const width = tags.get(TAG.imageWidth)?.[0];
  const height = tags.get(TAG.imageLength)?.[0];
  if (width === undefined || height === undefined) throw damaged('it does not say how large it is');
  checkData(reader, tags);
  const hasAlpha = Array.from(tags.get(TAG.extraSamples) ?? []).some((kind) => kind === 1 || kind === 2);
  const hasIccProfile = tags.has(TAG.iccProfile);
  return {
    format: 'tiff',
    width,
    height,
    orientation: orientationOf(tags),
    bitDepth,
    hasAlpha,
    colorModel,
    hasIccProfile,
  };
}

function hasFurtherPage(reader: ByteReader, littleEndian: boolean, first: number, next: number): boolean {
  const seen = new Set([first]);
  for (let offset = next; offset !== 0; ) {
    if (seen.has(offset)) throw damaged('its pages run in a circle');
    seen.add(offset);
    if (seen.size > MOST_COPIES) throw damaged('it holds too many copies of itself');
    const directory = readTiffDirectory(reader, littleEndian, offset, WANTED);
    const isReducedCopy = ((directory.tags.get(TAG.newSubfileType)?.[0] ?? 0) & 1) === 1;
    if (!isReducedCopy) return true;
    offset = directory.next;
  }
  return false;
}

function checkData(reader: ByteReader, tags: TiffDirectory['tags']): void {
  const offsets = tags.get(TAG.stripOffsets) ?? tags.get(TAG.tileOffsets);
  const counts = tags.get(TAG.stripByteCounts) ?? tags.get(TAG.tileByteCounts);
  if (!offsets?.length) throw damaged('it holds no image');
  for (let i = 0; i < offsets.length; i++) {
    if (offsets[i] + (counts?.[i] ?? 1) > reader.bytes.length) throw truncated();
  }
}

/**
 * Walks all chunks of a WebP file: plain lossy, plain lossless, or extended.
 * Source: RFC 9649 (2024), sections 2 and 3; RFC 6386 (2011), 9.1, for the size of a lossy frame.
 * @throws PictureError: truncated, damaged, animated.
 */
function inspectWebp(reader: ByteReader): PictureInfo {
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

/** What the page can decode, and the command line. */
export const PAGE_FORMATS: readonly PictureFormat[] = ['png', 'jpeg', 'webp'];

export const ALL_FORMATS: readonly PictureFormat[] = [...PAGE_FORMATS, 'tiff'];

/**
 * Looks a picture file over before it is decoded: what it is, how large, which way up, and whether all of it is there.
 * @param bytes the whole file. @param formats those that whoever asks can decode.
 * @throws PictureError with the reason and the way out, if the file cannot be used.
 */
export function inspectPicture(bytes: Uint8Array, formats: readonly PictureFormat[]): PictureInfo {
  if (bytes.length === 0) {
    throw new PictureError('empty', 'is empty. Copy or download it again from where it came.');
  }
  if (bytes.length > LIMITS.pictureBytes) {
    throw new PictureError('too-large', `is larger than ${inMiB(LIMITS.pictureBytes)}. Save it as JPEG.`);
  }
  const info = readHead(bytes, formats);
  const { width, height } = info;
  if (width === 0 || height === 0) {
    throw new PictureError('zero-sized', `has no pixels (${width} × ${height}). Export it again from where it came.`);
  }
  if (width * height > LIMITS.pixels) {
    const megapixels = Math.ceil((width * height) / 1e6);
    throw new PictureError(
      'too-large',
      `has ${megapixels} megapixels; up to ${LIMITS.pixels / 1e6} can be used. Make it smaller in an image editor: ` +
        'a burn shows at most some twelve dots per millimetre.',
    );
  }
  return info;
}

function readHead(bytes: Uint8Array, formats: readonly PictureFormat[]): PictureInfo {
  const reader = createByteReader(bytes);
  const format = formatOf(reader.text(0, Math.min(12, bytes.length)));
  if (format === null || !formats.includes(format)) throw nameUnsupportedFormat(reader, formats);
  return INSPECT[format](reader);
}

const INSPECT: Readonly<Record<PictureFormat, (reader: ByteReader) => PictureInfo>> = {
  jpeg: inspectJpeg,
  png: inspectPng,
  webp: inspectWebp,
  tiff: inspectTiff,
};

function formatOf(head: string): PictureFormat | null {
  if (head.startsWith('\xff\xd8\xff')) return 'jpeg';
  if (head.startsWith('\x89PNG\r\n\x1a\n')) return 'png';
  if (head.startsWith('RIFF') && head.slice(8) === 'WEBP') return 'webp';
  if (head.startsWith('II*\0') || head.startsWith('MM\0*')) return 'tiff';
  return null;
}

/** Reads numbers and text at offsets of a file; what lies beyond its end throws a PictureError ('truncated'). */
interface ByteReader {
  readonly bytes: Uint8Array;
  uint8(offset: number): number;
  uint16(offset: number, littleEndian?: boolean): number;
  uint32(offset: number, littleEndian?: boolean): number;
  /** So many bytes as text, a character each. */
  text(offset: number, length: number): string;
  /** Makes sure that the file is at least so long. */
  mustReach(end: number): void;
}

function createByteReader(bytes: Uint8Array): ByteReader {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const need = (offset: number, length: number): number => {
    if (offset + length > bytes.length) throw truncated();
    return offset;
  };
  return {
    bytes,
    uint8: (offset) => view.getUint8(need(offset, 1)),
    uint16: (offset, littleEndian = false) => view.getUint16(need(offset, 2), littleEndian),
    uint32: (offset, littleEndian = false) => view.getUint32(need(offset, 4), littleEndian),
    text: (offset, length) => String.fromCharCode(...bytes.subarray(need(offset, length), offset + length)),
    mustReach: (end) => void need(end, 0),
  };
}

type PictureFormat = 'jpeg' | 'png' | 'webp' | 'tiff';

/** What the head of a picture file says, as stored (before it is turned upright). */
export interface PictureInfo {
  readonly format: PictureFormat;
  readonly width: number;
  readonly height: number;
  readonly orientation: Orientation;
  /** Bits per sample; for palettes, of the index. */
  readonly bitDepth: number;
  readonly hasAlpha: boolean;
  readonly colorModel: 'grey' | 'rgb' | 'palette';
  readonly hasIccProfile: boolean;
}

const NAMES: Readonly<Record<PictureFormat, string>> = { png: 'PNG', jpeg: 'JPEG', webp: 'WebP', tiff: 'TIFF' };

/**
 * The error for a file that is none of the formats that are read: names it where its first bytes give it away, so that the maker knows
 * what to do.
 */
function nameUnsupportedFormat(reader: ByteReader, formats: readonly PictureFormat[]): PictureError {
  const head = reader.text(0, Math.min(512, reader.bytes.length));
  const name = formatName(head);
  if (!name) {
    return new PictureError(
      'not-a-picture',
      `is not a picture that can be read here. Use a ${listed(formats.map((format) => NAMES[format]))} file.`,
    );
  }
  const [what, why] = name;
  if (what === HEIC) return new PictureError('unsupported-format', PHONE_SENTENCE);
  return new PictureError(
    'unsupported-format',
    `is ${what}, ${why}. Open it in an image editor and save it as PNG or JPEG.`,
  );
}

const HEIC = 'a HEIC';

/** Decoders for it are not free to be shipped here; phones can save JPEG. The settings' names are the phones' own, from memory. */
const PHONE_SENTENCE =
  'is a HEIC, a phone’s own format, which cannot be read here. Share it from the phone as a JPEG. To have later ones as JPEG: on an iPhone Settings › Camera › Formats › Most Compatible; on an Android phone switch off “High efficiency pictures” in the camera’s settings.';

const listed = (names: readonly string[]): string => `${names.slice(0, -1).join(', ')} or ${names.at(-1)}`;

function formatName(head: string): readonly [what: string, why: string] | null {
  if (/^GIF8[79]a/.test(head)) return ['a GIF', 'which holds too few tones for a photograph'];
  if (head.startsWith('BM')) return ['a BMP', 'which cannot be read here'];
  if (head.startsWith('%PDF')) return ['a PDF', 'which is a document and not a photograph'];
  if (/^(\xef\xbb\xbf)?\s*(<\?xml[^>]*>\s*)?(<!--[\s\S]*?-->\s*)?(<!DOCTYPE svg[^>]*>\s*)?<svg[\s>]/.test(head)) {
    return ['an SVG', 'which is a drawing and not a photograph'];
  }
  if (/^[\s\S]{4}ftyp(avif|avis)/.test(head)) return ['an AVIF', 'which cannot be read here'];
  if (/^[\s\S]{4}ftyp(hei[cfsmx]|hev[cmsx]|mif1|msf1)/.test(head)) return [HEIC, 'which cannot be read here'];
  if (head.startsWith('\0\0\0\x0cJXL ') || head.startsWith('\xff\x0a'))
    return ['a JPEG XL', 'which cannot be read here'];
  if (head.startsWith('\0\0\0\x0cjP  ') || head.startsWith('\xff\x4f\xff\x51'))
    return ['a JPEG 2000', 'which cannot be read here'];
  // Only where it is none of the formats that are read.
  if (head.startsWith('II*\0') || head.startsWith('MM\0*')) return ['a TIFF', 'which cannot be read here'];
  if (head.startsWith('II+\0') || head.startsWith('MM\0+')) return ['a BigTIFF', 'which cannot be read here'];
  return null;
}

const ORIENTATION_ONLY = new Set([ORIENTATION]);

/**
 * Orientation in a block of Exif data (a TIFF stream, with or without the letters `Exif` and two zero bytes before it).
 * Damaged Exif data do not make a picture unusable: they give 1, as does a block without the tag.
 * Source: Exif 2.32 (CIPA DC-008), 4.6.4 A, tag Orientation.
 */
function readExifOrientation(block: Uint8Array): Orientation {
  const prefixed = block.length >= 6 && createByteReader(block).text(0, 4) === 'Exif';
  const reader = createByteReader(prefixed ? block.subarray(6) : block);
  try {
    const { littleEndian, first } = readTiffHeader(reader);
    return orientationOf(readTiffDirectory(reader, littleEndian, first, ORIENTATION_ONLY).tags);
  } catch (error) {
    if (error instanceof PictureError) return 1;
    throw error;
  }
}
