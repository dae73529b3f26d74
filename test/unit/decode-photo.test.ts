import { crc32, deflateSync } from 'node:zlib';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { PictureError } from '../../src/image/picture-error.ts';
import { decodePhoto } from '../../src/page/burn/worker/decode-photo.ts';

const deep = (width: number, height: number, interlaced = false) =>
  sharp({ create: { width, height, channels: 3, background: '#a86432' } })
    .toColourspace('rgb16')
    .png({ progressive: interlaced })
    .toBuffer();

/** A PNG of 16-bit grey whose rows are whatever is given. */
function pngOf(width: number, height: number, rows: Uint8Array): Uint8Array {
  const chunk = (type: string, data: Uint8Array): Buffer => {
    const body = Buffer.concat([Buffer.from(type), data]);
    const frame = Buffer.alloc(8);
    frame.writeUInt32BE(data.length, 0);
    frame.writeUInt32BE(crc32(body), 4);
    return Buffer.concat([frame.subarray(0, 4), body, frame.subarray(4)]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.writeUInt8(16, 8);
  const signature = Buffer.from('\x89PNG\r\n\x1a\n', 'latin1');
  const parts = [chunk('IHDR', head), chunk('IDAT', deflateSync(rows)), chunk('IEND', new Uint8Array(0))];
  return new Uint8Array(Buffer.concat([signature, ...parts]));
}

describe('a PNG of 16 bits on the page', () => {
  test('keeps its depth, interlaced or not', async () => {
    for (const interlaced of [false, true]) {
      const { picture } = await decodePhoto(await deep(9, 5, interlaced));
      expect(picture).toMatchObject({ width: 9, height: 5, alpha: null });
      expect(picture.luminance.every((tone) => Math.abs(tone - picture.luminance[0]) < 1e-6)).toBe(true);
    }
    expect((await decodePhoto(pngOf(3, 2, new Uint8Array(14)))).picture.luminance).toEqual(new Float32Array(6));
  });

  test.each([
    [
      'rows that unpack to far more than the picture',
      () => pngOf(3, 2, new Uint8Array(50_000_000)),
      /more than its size/,
    ],
    ['rows that are missing', () => pngOf(30, 20, new Uint8Array(14)), /cannot be decoded/],
    ['a filter that is none', () => pngOf(3, 2, new Uint8Array(14).fill(9)), /cannot be decoded/],
  ])('%s: told, not in the library’s words', async (_, make, reason) => {
    const png = make();
    const before = process.memoryUsage().arrayBuffers;
    const error = await decodePhoto(png).then(
      () => null,
      (fault: unknown) => fault,
    );
    expect(error).toBeInstanceOf(PictureError);
    expect((error as Error).message).toMatch(reason);
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(48e6);
  });
});
