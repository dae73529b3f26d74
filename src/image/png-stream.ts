import { Deflate } from 'pako';
import { crc32 } from '../base/crc32.ts';

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
export const pngRowBytes = ({ width, bits, alpha }: PngLayout): number =>
  Math.ceil((width * bits * (alpha ? 2 : 1)) / 8);

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
  yield { bytes: joined([SIGNATURE, chunk('IHDR', header), chunk('pHYs', size)]), share: 0 };

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
      yield { bytes: joined(packed.map((data) => chunk('IDAT', data))), share: (y + 1) / height };
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

function joined(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
