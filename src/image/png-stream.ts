import { Unzlib } from 'fflate';
import { Deflate } from 'pako';
import { crc32 } from '../base/aligned-zip.ts';
import { joinBytes } from '../base/bytes.ts';
import { encodeSrgbByte } from '../base/color/srgb.ts';
import type { PictureInfo } from './inspect.ts';
import { lightnessToLuminance } from './lightness.ts';
import type { ToneImage } from './picture.ts';
import { damaged, PictureError } from './picture-error.ts';

export interface PngLayout {
  readonly width: number;
  readonly height: number;
  /** Bits of a grey value; 1 has no transparency. */
  readonly bits: 1 | 8 | 16;
  readonly alpha: boolean;
  /** Distance of pixels, mm; the format knows whole pixels per metre only. */
  readonly pitchMm: number;
}

const SIGNATURE = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);

const GREY = 0;

const GREY_ALPHA = 4;

const METRE = 1;

const LEVEL = 6;

/** Bytes of one row of a PNG, without its filter byte. */
const pngRowBytes = ({ width, bits, alpha }: PngLayout): number => Math.ceil((width * bits * (alpha ? 2 : 1)) / 8);

/**
 * A grey PNG, part by part, with its true size in pHYs. `fillRow(y, row)` sets the bytes of row y (packed from the left, 16-bit values
 * high byte first); they come in order.
 * Source: W3C PNG Specification, Third Edition. Test: read back by two decoders.
 */
export function* pngStream(
  layout: PngLayout,
  fillRow: (y: number, row: Uint8Array) => void,
): Generator<{ readonly bytes: Uint8Array<ArrayBuffer>; readonly share: number }, void> {
  const { width, height, bits, alpha, pitchMm } = layout;
  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  header.set([bits, alpha ? GREY_ALPHA : GREY, 0, 0, 0], 8);
  const size = new Uint8Array(9);
  const perMetre = Math.round(1000 / pitchMm);
  new DataView(size.buffer).setUint32(0, perMetre);
  new DataView(size.buffer).setUint32(4, perMetre);
  size[8] = METRE;
  yield { bytes: joinBytes([SIGNATURE, chunk('IHDR', header), chunk('pHYs', size)]), share: 0 };

  let packed: Uint8Array[] = [];
  // Not fflate's stream: pushed row by row it refers to before its beginning.
  const zlib = new Deflate({ level: LEVEL });
  zlib.onData = (data) => packed.push(data);
  const rowBytes = pngRowBytes(layout);
  for (let y = 0; y < height; y++) {
    // Filter type 0: dots do not gain by any.
    const line = new Uint8Array(rowBytes + 1);
    fillRow(y, line.subarray(1));
    zlib.push(line, y === height - 1);
    if (packed.length > 0) {
      yield { bytes: joinBytes(packed.map((data) => chunk('IDAT', data))), share: (y + 1) / height };
      packed = [];
    }
  }
  yield { bytes: chunk('IEND', new Uint8Array(0)), share: 1 };
}

function chunk(type: string, data: Uint8Array): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(data.length + 12);
  const view = new DataView(out.buffer);
  view.setUint32(0, data.length);
  for (let i = 0; i < 4; i++) out[4 + i] = type.charCodeAt(i);
  out.set(data, 8);
  view.setUint32(8 + data.length, crc32(out.subarray(4, 8 + data.length)));
  return out;
}

const PNG_SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];

const AFTER_HEADER = 33;

/**
 * A copy of a PNG file that says how large its pixels are: chunk pHYs with the unit metre, straight after the header; one that
 * was there is replaced. The format knows whole pixels per metre only, so a pitch of 0.085 mm becomes 11765 of them.
 * Source: W3C PNG Specification, Third Edition, 11.3.4.3 (11.3.5.3 in the second).
 * @param pxPerMm pixels per mm, > 0.
 * @throws RangeError if the bytes are no PNG or the resolution cannot be written.
 */
export function setPngResolution(png: Uint8Array, pxPerMm: number): Uint8Array<ArrayBuffer> {
  const perMetre = Math.round(pxPerMm * 1000);
  if (!(perMetre >= 1 && perMetre <= 0x7fffffff)) throw new RangeError(`a PNG cannot have ${pxPerMm} pixels per mm`);
  const kept = chunksOf(png).filter((chunk) => chunk.type !== 'pHYs');
  const length = kept.reduce((sum, chunk) => sum + chunk.end - chunk.start, PNG_SIGNATURE.length + 21);
  const out = new Uint8Array(length);
  out.set(PNG_SIGNATURE);
  let at = PNG_SIGNATURE.length;
  for (const { start, end } of kept) {
    out.set(png.subarray(start, end), at);
    at += end - start;
    if (at === AFTER_HEADER) {
      writeResolution(out.subarray(at, at + 21), perMetre);
      at += 21;
    }
  }
  return out;
}

function writeResolution(chunk: Uint8Array, perMetre: number): void {
  const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength);
  view.setUint32(0, 9);
  chunk.set([0x70, 0x48, 0x59, 0x73], 4);
  view.setUint32(8, perMetre);
  view.setUint32(12, perMetre);
  view.setUint8(16, METRE);
  view.setUint32(17, crc32(chunk.subarray(4, 17)));
}

/** Types and places (length field to checksum) of all chunks. */
function chunksOf(png: Uint8Array): { type: string; start: number; end: number }[] {
  if (png.length < AFTER_HEADER || PNG_SIGNATURE.some((byte, i) => png[i] !== byte))
    throw new RangeError('these bytes are no PNG');
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  const chunks: { type: string; start: number; end: number }[] = [];
  for (let start = PNG_SIGNATURE.length; start < png.length; ) {
    const end = start + 12 <= png.length ? start + 12 + view.getUint32(start) : Number.POSITIVE_INFINITY;
    if (end > png.length) throw new RangeError('this PNG is cut off');
    chunks.push({ type: String.fromCharCode(...png.subarray(start + 4, start + 8)), start, end });
    start = end;
  }
  if (chunks[0].end !== AFTER_HEADER) throw new RangeError('this PNG has no header');
  return chunks;
}

/**
 * A prepared picture as bytes: its lightness as sRGB grey, repeated over `greys` channels, and what may burn as the last channel.
 * Row-major, interleaved.
 */
export function preparedGreys({ lightness, mask }: ToneImage, greys: 1 | 3): Uint8ClampedArray<ArrayBuffer> {
  const channels = greys + 1;
  const data = new Uint8ClampedArray(channels * lightness.length);
  for (let i = 0; i < lightness.length; i++) {
    data.fill(encodeSrgbByte(lightnessToLuminance(lightness[i])), channels * i, channels * i + greys);
    data[channels * i + greys] = mask[i];
  }
  return data;
}

const CHANNELS: Readonly<Record<PictureInfo['colorModel'], number>> = { grey: 1, palette: 1, rgb: 3 };

/** Interlacing splits a picture into seven, of which each row has a byte for its filter. */
const PASSES = 7;

const STEP = 4096;

/**
 * Makes sure that a PNG's packed rows, which `inspectPng` has walked, unpack to what its header says and no more: what would unpack to
 * far more is stopped there.
 * @throws PictureError (damaged).
 */
export function checkPngData(png: Uint8Array, { width, height, bitDepth, colorModel, hasAlpha }: PictureInfo): void {
  const rowBytes = Math.ceil((width * bitDepth * (CHANNELS[colorModel] + (hasAlpha ? 1 : 0))) / 8) + 1;
  const most = height * rowBytes + PASSES * (height + width);
  let length = 0;
  const stream = new Unzlib((chunk) => {
    length += chunk.length;
    if (length > most) throw damaged('it unpacks to more than its size');
  });
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  try {
    for (let at = 8; at + 8 <= png.length; at += 12 + view.getUint32(at)) {
      if (view.getUint32(at + 4) !== IDAT) continue;
      const end = at + 8 + view.getUint32(at);
      for (let from = at + 8; from < end; from += STEP) stream.push(png.subarray(from, Math.min(end, from + STEP)));
    }
    stream.push(new Uint8Array(0), true);
  } catch (error) {
    if (error instanceof PictureError) throw error;
    throw damaged('its rows cannot be unpacked');
  }
}

const IDAT = 0x49444154;
