import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { decodePhoto } from '../../src/cli/open-job.ts';
import { decodeTiff } from '../../src/image/decode/tiff.ts';
import { linearise } from '../../src/image/linearise.ts';

const [WIDTH, HEIGHT] = [61, 47];

function scan(channels: 1 | 3 | 4, bits: 8 | 16) {
  const length = WIDTH * HEIGHT * channels;
  const data = bits === 8 ? new Uint8Array(length) : new Uint16Array(length);
  for (let i = 0; i < length; i++) data[i] = ((i * 2654435761) >>> 0) % (bits === 8 ? 256 : 65536);
  const image = sharp(data, { raw: { width: WIDTH, height: HEIGHT, channels } });
  return bits === 8 ? image : image.toColourspace(channels === 1 ? 'grey16' : 'rgb16');
}

describe('a TIFF on the page', () => {
  test.each([
    [3, 8, 'none', 'none'],
    [3, 8, 'deflate', 'horizontal'],
    [4, 8, 'lzw', 'horizontal'],
    [3, 16, 'none', 'none'],
    [3, 16, 'lzw', 'horizontal'],
    [4, 16, 'deflate', 'none'],
    [1, 16, 'none', 'none'],
    [3, 8, 'packbits', 'none'],
  ] as const)(
    '%i channels of %i bits, %s, has the very pixels of the command line',
    async (channels, bits, compression, predictor) => {
      const bytes = await scan(channels, bits).tiff({ compression, predictor }).toBuffer();
      const here = linearise(decodeTiff(new Uint8Array(bytes)));
      const { picture } = await decodePhoto(new Uint8Array(bytes), 'scan.tif');
      expect([here.width, here.height]).toEqual([WIDTH, HEIGHT]);
      // Grey comes to the command line as three equal colours, whose weights add up to one but for float32.
      const off = here.luminance.reduce((most, value, i) => Math.max(most, Math.abs(value - picture.luminance[i])), 0);
      expect(off).toBeLessThanOrEqual(channels === 1 ? 1e-7 : 0);
      expect(here.alpha).toEqual(picture.alpha);
    },
  );

  test.each([2, 3, 4, 5, 6, 7, 8])('stands upright by orientation %i', async (orientation) => {
    const bytes = await scan(3, 8).withMetadata({ orientation }).tiff({ compression: 'none' }).toBuffer();
    const here = linearise(decodeTiff(new Uint8Array(bytes)));
    const { picture } = await decodePhoto(new Uint8Array(bytes), 'scan.tif');
    expect([here.width, here.height]).toEqual([picture.width, picture.height]);
    expect(here.luminance).toEqual(picture.luminance);
  });

  test('other kinds and damaged ones are refused in a sentence', async () => {
    const jpeg = await scan(3, 8).tiff({ compression: 'jpeg' }).toBuffer();
    expect(() => decodeTiff(new Uint8Array(jpeg))).toThrow(/TIFF of a rare kind.*PNG or JPEG/);
    const whole = new Uint8Array(await scan(3, 8).tiff({ compression: 'none' }).toBuffer());
    expect(() => decodeTiff(whole.subarray(0, whole.length - 500))).toThrow(/^is cut off/);
    expect(() => decodeTiff(Uint8Array.of(1, 2, 3))).toThrow();
  });
});
