import { decode, encode } from 'fast-png';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { crc32 } from '../../src/base/aligned-zip.ts';
import { setPngResolution } from '../../src/image/png-stream.ts';
import { readPngResolution } from '../helpers/png-resolution.ts';

const grey = encode({
  width: 5,
  height: 3,
  channels: 1,
  depth: 8,
  data: Uint8Array.from({ length: 15 }, (_, i) => i * 17),
});

describe('crc32', () => {
  test('check value of the algorithm', () => {
    // "CRC-32/ISO-HDLC" in every catalogue of such sums.
    expect(crc32(new TextEncoder().encode('123456789'))).toBe(0xcbf43926);
    expect(crc32(new Uint8Array(0))).toBe(0);
  });
});

describe('PNG resolution', () => {
  test('is written where decoders look for it, checksums included', async () => {
    const png = setPngResolution(grey, 1 / 0.085);
    expect(Buffer.from(png).indexOf('pHYs')).toBe(37);
    // fast-png verifies the checksum of every chunk.
    const decoded = decode(png, { checkCrc: true });
    expect(decoded.resolution).toEqual({ x: 11765, y: 11765, unit: 1 });
    expect(decoded.data).toEqual(decode(grey).data);
    expect((await sharp(png).metadata()).density).toBe(299);
    expect(readPngResolution(png)).toEqual({ x: 11.765, y: 11.765 });
  });

  test('replaces an older one, wherever it stood', async () => {
    const older = new Uint8Array(await sharp(grey).withMetadata({ density: 72 }).png().toBuffer());
    expect(readPngResolution(older)?.x).toBeCloseTo(72 / 25.4, 2);
    const png = setPngResolution(setPngResolution(older, 5), 10);
    expect(readPngResolution(png)).toEqual({ x: 10, y: 10 });
    expect(Buffer.from(png).toString('latin1').split('pHYs').length).toBe(2);
    expect(png.length).toBe(older.length);
  });

  test('leaves the bytes given alone and works inside a larger buffer', () => {
    const larger = new Uint8Array(grey.length + 7);
    larger.set(grey, 7);
    expect(setPngResolution(larger.subarray(7), 10)).toEqual(setPngResolution(grey, 10));
    expect(readPngResolution(grey)).toBeNull();
  });

  test('of another unit counts as none', () => {
    const png = setPngResolution(grey, 10);
    png[37 + 12] = 0;
    expect(readPngResolution(png)).toBeNull();
  });

  test('refuses what is no PNG, cut off, or no resolution', () => {
    expect(() => setPngResolution(new Uint8Array(50), 10)).toThrow(RangeError);
    expect(() => setPngResolution(grey.subarray(0, -3), 10)).toThrow(RangeError);
    for (const bad of [0, -1, Number.NaN, 1e9]) expect(() => setPngResolution(grey, bad)).toThrow(RangeError);
  });
});
