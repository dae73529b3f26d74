import sharp from 'sharp';
import { beforeAll, describe, expect, test } from 'vitest';
import { LIMITS } from '../../src/base/input-error.ts';
import { ALL_FORMATS, inspectPicture, PAGE_FORMATS } from '../../src/image/inspect.ts';
import { PictureError, type PictureErrorReason } from '../../src/image/picture-error.ts';
import { tiffStream, withPngChunk, withRightSums } from '../helpers/picture-parts.ts';

const WIDTH = 11;
const HEIGHT = 7;
const rgb = () => sharp({ create: { width: WIDTH, height: HEIGHT, channels: 3, background: '#a86432' } });
const rgba = () =>
  sharp({ create: { width: WIDTH, height: HEIGHT, channels: 4, background: { r: 9, g: 9, b: 9, alpha: 0.5 } } });
const grey = () => rgb().toColourspace('b-w');

/** Encoded by independent encoders. */
const files: Record<string, Uint8Array> = {};

beforeAll(async () => {
  files.jpeg = await rgb().jpeg().toBuffer();
  files.progressive = await rgb().jpeg({ progressive: true }).toBuffer();
  files.greyJpeg = await grey().jpeg().toBuffer();
  files.turnedJpeg = await rgb().withMetadata({ orientation: 6 }).jpeg().toBuffer();
  files.profiledJpeg = await rgb().withIccProfile('srgb').jpeg().toBuffer();
  files.cmykJpeg = await rgb().toColourspace('cmyk').jpeg().toBuffer();
  files.png = await rgb().png().toBuffer();
  files.palettePng = await rgb().png({ palette: true }).toBuffer();
  files.alphaPng = await rgba().png().toBuffer();
  files.png16 = await rgb().toColourspace('rgb16').png().toBuffer();
  files.turnedPng = await rgb().withMetadata({ orientation: 8 }).png().toBuffer();
  files.webp = await rgb().webp().toBuffer();
  files.losslessWebp = await rgb().webp({ lossless: true }).toBuffer();
  files.alphaWebp = await rgba().webp().toBuffer();
  files.turnedWebp = await rgb().withMetadata({ orientation: 3 }).webp().toBuffer();
  files.tiff = await rgb().tiff({ compression: 'none' }).toBuffer();
  files.alphaTiff = await rgba().tiff({ compression: 'lzw' }).toBuffer();
  files.turnedTiff = await rgb().withMetadata({ orientation: 5 }).tiff({ tile: true }).toBuffer();
  files.tiff16 = await grey().toColourspace('grey16').tiff({ compression: 'none' }).toBuffer();
  files.cmykTiff = await rgb().toColourspace('cmyk').tiff().toBuffer();
  const pages = { raw: { width: 8, height: 8, channels: 3, pageHeight: 4 } } as const;
  const stripes = Uint8Array.from({ length: 192 }, (_, i) => i);
  files.animatedWebp = await sharp(stripes, pages)
    .webp({ loop: 0, delay: [100, 100] })
    .toBuffer();
  files.gif = await rgb().gif().toBuffer();
  files.avif = await rgb().avif({ effort: 0 }).toBuffer();
});

describe('good files', () => {
  const plain = {
    width: WIDTH,
    height: HEIGHT,
    orientation: 1,
    bitDepth: 8,
    hasAlpha: false,
    colorModel: 'rgb',
    hasIccProfile: false,
  };
  test.each([
    ['jpeg', { ...plain, format: 'jpeg' }],
    ['progressive', { ...plain, format: 'jpeg' }],
    ['greyJpeg', { ...plain, format: 'jpeg', colorModel: 'grey' }],
    ['turnedJpeg', { ...plain, format: 'jpeg', orientation: 6 }],
    ['profiledJpeg', { ...plain, format: 'jpeg', hasIccProfile: true }],
    ['png', { ...plain, format: 'png' }],
    ['alphaPng', { ...plain, format: 'png', hasAlpha: true }],
    ['png16', { ...plain, format: 'png', bitDepth: 16 }],
    ['turnedPng', { ...plain, format: 'png', orientation: 8 }],
    ['webp', { ...plain, format: 'webp' }],
    ['losslessWebp', { ...plain, format: 'webp' }],
    ['alphaWebp', { ...plain, format: 'webp', hasAlpha: true }],
    ['turnedWebp', { ...plain, format: 'webp', orientation: 3 }],
    ['tiff', { ...plain, format: 'tiff' }],
    ['alphaTiff', { ...plain, format: 'tiff', hasAlpha: true }],
    ['turnedTiff', { ...plain, format: 'tiff', orientation: 5 }],
    ['tiff16', { ...plain, format: 'tiff', colorModel: 'grey', bitDepth: 16 }],
  ])('%s', (name, info) => {
    const read = inspectPicture(files[name], ALL_FORMATS);
    // Metadata may bring a profile along: only files made without or with one on purpose say something about it.
    const hasIccProfile = name.startsWith('turned') ? read.hasIccProfile : info.hasIccProfile;
    expect(read).toEqual({ ...info, hasIccProfile });
  });

  test('a palette', () => {
    expect(inspectPicture(files.palettePng, ALL_FORMATS)).toMatchObject({ format: 'png', colorModel: 'palette' });
  });

  test('bytes that start in the middle of a larger buffer', () => {
    const larger = new Uint8Array(files.png.length + 5);
    larger.set(files.png, 5);
    expect(inspectPicture(larger.subarray(5), ALL_FORMATS)).toMatchObject({ width: WIDTH, height: HEIGHT });
  });

  test('damaged Exif data do not matter', () => {
    const bytes = Uint8Array.from(files.turnedJpeg);
    const at = Buffer.from(bytes).indexOf('Exif');
    bytes.fill(0xee, at + 6, at + 16);
    expect(inspectPicture(bytes, ALL_FORMATS).orientation).toBe(1);
  });

  test('stray bytes before a marker and after the end', () => {
    const { jpeg } = files;
    const first = Buffer.from(jpeg).indexOf(Buffer.from([0xff, 0xc0]));
    const bytes = Uint8Array.of(...jpeg.subarray(0, first), 0, 0, ...jpeg.subarray(first), 1, 2, 3);
    expect(inspectPicture(bytes, ALL_FORMATS)).toMatchObject({ width: WIDTH, height: HEIGHT });
  });
});

function errorOf(bytes: Uint8Array): PictureError {
  try {
    inspectPicture(bytes, ALL_FORMATS);
  } catch (error) {
    if (error instanceof PictureError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}

const ascii = (text: string) => Uint8Array.from(text, (letter) => letter.charCodeAt(0));

describe('files that cannot be used', () => {
  test.each([
    ['nothing', () => new Uint8Array(0), 'empty', /^is empty/],
    ['a text', () => ascii('Dear customer,'), 'not-a-picture', /PNG, JPEG, WebP or TIFF/],
    ['one byte', () => Uint8Array.of(0), 'not-a-picture', /not a picture/],
    ['a GIF', () => files.gif, 'unsupported-format', /^is a GIF, which .*PNG or JPEG/],
    ['an AVIF', () => files.avif, 'unsupported-format', /^is an AVIF/],
    ['a BMP', () => ascii('BM\0\0\0\0'), 'unsupported-format', /^is a BMP/],
    ['a PDF', () => ascii('%PDF-1.7\n'), 'unsupported-format', /^is a PDF/],
    ['an SVG', () => ascii('<?xml version="1.0"?>\n<svg xmlns="x"/>'), 'unsupported-format', /^is an SVG/],
    [
      'a HEIC',
      () => ascii('\0\0\0\x18ftypheic\0\0\0\0'),
      'unsupported-format',
      /^is a HEIC.*as a JPEG.*Most Compatible/,
    ],
    ['a BigTIFF', () => ascii('II+\0\x08\0\0\0'), 'unsupported-format', /^is a BigTIFF/],
    ['a CMYK JPEG', () => files.cmykJpeg, 'cmyk', /Convert it to RGB/],
    ['a CMYK TIFF', () => files.cmykTiff, 'cmyk', /Convert it to RGB/],
    ['an animated WebP', () => files.animatedWebp, 'animated', /the one frame/],
    ['an animated PNG', () => withPngChunk(files.png, 'acTL', new Uint8Array(8)), 'animated', /the one frame/],
    ['a TIFF of two pages', () => withSecondPage(files.tiff, 0), 'several-pages', /Save the page you want/],
    ['a JPEG of no pixels', () => jpegOfSize(0, HEIGHT), 'zero-sized', /no pixels/],
    ['a PNG of no pixels', () => pngOfSize(WIDTH, 0), 'zero-sized', /no pixels/],
    ['a PNG of 400 megapixels', () => pngOfSize(20_000, 20_000), 'too-large', /has 400 megapixels; up to 64/],
  ] satisfies [string, () => Uint8Array, PictureErrorReason, RegExp][])('%s', (_, bytes, reason, message) => {
    const error = errorOf(bytes());
    expect(error.reason).toBe(reason);
    expect(error.message).toMatch(message);
    expect(error.message).toMatch(/^(is|has) .*\.$/);
  });

  test.each([
    'jpeg',
    'progressive',
    'turnedJpeg',
    'png',
    'turnedPng',
    'webp',
    'losslessWebp',
    'alphaWebp',
    'tiff',
    'turnedTiff',
  ])('%s cut anywhere is never taken for whole', (name) => {
    const whole = files[name];
    for (let length = 1; length < whole.length; length++) {
      const { reason } = errorOf(whole.subarray(0, length));
      expect(['truncated', 'not-a-picture']).toContain(reason);
      if (length > 12) expect(reason).toBe('truncated');
    }
  });

  test('exactly 64 megapixels are fine', () => {
    expect(inspectPicture(pngOfSize(8_000, 8_000), ALL_FORMATS).width).toBe(8_000);
  });

  test('a reduced copy in a TIFF is no second page', () => {
    expect(inspectPicture(withSecondPage(files.tiff, 1), ALL_FORMATS).width).toBe(WIDTH);
  });

  test('a TIFF whose pages run in a circle ends', () => {
    const bytes = Uint8Array.from(withSecondPage(files.tiff, 1));
    const view = new DataView(bytes.buffer);
    view.setUint32(bytes.length - 4, view.getUint32(4, true), true);
    expect(errorOf(bytes).reason).toBe('damaged');
  });

  test('a PNG with any one bit flipped, in its colour profile too', () => {
    const png = withPngChunk(files.png, 'gAMA', Uint8Array.of(0, 0, 177, 143));
    expect(inspectPicture(png, ALL_FORMATS).width).toBe(WIDTH);
    for (let bit = 0; bit < 8 * png.length; bit++) {
      const spoiled = Uint8Array.from(png);
      spoiled[bit >> 3] ^= 1 << (bit & 7);
      expect(() => inspectPicture(spoiled, ALL_FORMATS), `bit ${bit}`).toThrow(PictureError);
    }
    const profile = Uint8Array.from(png);
    profile[44] ^= 1;
    expect(errorOf(profile).message).toMatch(/the checksum of its part gAMA is wrong/);
  });

  test('Exif and TIFF directories whose entries all point to the same bytes are not made larger than the file', () => {
    const entries = Array.from({ length: 4000 }, (_, i) => ({ tag: 400 + i, type: 3, count: 100_000, value: 8 }));
    const orientation = { tag: 274, type: 3, count: 1, value: 6 };
    const stream = tiffStream([...entries, orientation], 210_000);
    const before = process.memoryUsage().heapUsed;
    expect(inspectPicture(withPngChunk(files.png, 'eXIf', stream), ALL_FORMATS).orientation).toBe(6);
    expect(errorOf(stream).reason).toBe('damaged');
    expect(process.memoryUsage().heapUsed - before).toBeLessThan(50e6);
  });

  test('a TIFF that lists more places than any picture has', () => {
    const count = 2_000_000;
    const lists = [273, 279].map((tag) => ({ tag, type: 4, count, value: 8 }));
    const error = errorOf(tiffStream(lists, 4 * count));
    expect(error.message).toMatch(/a list in it is too long/);
  });

  test('a TIFF of ever more copies of itself', () => {
    // Each directory is the one tag that says it is a copy, and the next one begins two bytes further on.
    const page = (next: number) => tiffStream([{ tag: 254, type: 4, count: 1, value: 1 }], 0, next).subarray(8);
    const pages = Array.from({ length: 40 }, (_, i) => page(8 + 18 * (i + 1)));
    const head = [256, 257, 273].map((tag) => ({ tag, type: 4, count: 1, value: 4 }));
    const first = tiffStream(head, 0, 8 + 2 + 36 + 4).subarray(8);
    const shifted = pages.map((_, i) => page(8 + first.length + 18 * (i + 1)));
    const bytes = new Uint8Array(Buffer.concat([tiffStream([]).subarray(0, 8), first, ...shifted, new Uint8Array(20)]));
    expect(errorOf(bytes).message).toMatch(/too many copies of itself/);
  });

  test('a JPEG that says twice how large it is', () => {
    const at = Buffer.from(files.jpeg).indexOf(Buffer.from([0xff, 0xc0]));
    const frame = files.jpeg.subarray(at, at + 2 + files.jpeg[at + 3]);
    const twice = Uint8Array.of(...files.jpeg.subarray(0, at), ...frame, ...files.jpeg.subarray(at));
    expect(errorOf(twice).message).toMatch(/says twice how large it is/);
  });

  test('a file larger than any photograph, before it is looked at', () => {
    expect(errorOf(new Uint8Array(LIMITS.pictureBytes + 1)).message).toMatch(/^is larger than 256 MiB/);
  });

  test('the page is offered what it reads: a TIFF is refused, and no sentence names it as a way out', () => {
    const said = (bytes: Uint8Array): string => {
      try {
        inspectPicture(bytes, PAGE_FORMATS);
      } catch (error) {
        return (error as Error).message;
      }
      return '';
    };
    expect(said(files.tiff)).toMatch(/^is a TIFF, which cannot be read here.* save it as PNG or JPEG\.$/);
    expect(said(ascii('Dear customer,'))).toMatch(/Use a PNG, JPEG or WebP file\.$/);
  });

  test('a mutilated file never throws anything else', () => {
    for (const [name, whole] of Object.entries(files)) {
      for (let at = 0; at < whole.length; at += name === 'avif' ? 97 : 3) {
        const bytes = Uint8Array.from(whole);
        bytes[at] ^= 0xff;
        try {
          inspectPicture(bytes, ALL_FORMATS);
        } catch (error) {
          expect(error).toBeInstanceOf(PictureError);
        }
      }
    }
  });
});

function pngOfSize(width: number, height: number): Uint8Array {
  const bytes = Uint8Array.from(files.png);
  const view = new DataView(bytes.buffer);
  view.setUint32(16, width);
  view.setUint32(20, height);
  return withRightSums(bytes);
}

function jpegOfSize(width: number, height: number): Uint8Array {
  const bytes = Uint8Array.from(files.jpeg);
  const at = Buffer.from(bytes).indexOf(Buffer.from([0xff, 0xc0]));
  const view = new DataView(bytes.buffer);
  view.setUint16(at + 5, height);
  view.setUint16(at + 7, width);
  return bytes;
}

/** Appends a directory with one tag, NewSubfileType, and links it after the first. */
function withSecondPage(tiff: Uint8Array, newSubfileType: number): Uint8Array {
  const bytes = new Uint8Array(tiff.length + (tiff.length % 2) + 18);
  bytes.set(tiff);
  const view = new DataView(bytes.buffer);
  const second = bytes.length - 18;
  const first = view.getUint32(4, true);
  view.setUint32(first + 2 + 12 * view.getUint16(first, true), second, true);
  view.setUint16(second, 1, true);
  view.setUint16(second + 2, 254, true);
  view.setUint16(second + 4, 4, true);
  view.setUint32(second + 6, 1, true);
  view.setUint32(second + 10, newSubfileType, true);
  return bytes;
}
