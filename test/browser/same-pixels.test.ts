import { readFileSync } from 'node:fs';
import { crc32, deflateSync } from 'node:zlib';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodePhoto } from '../../src/cli/open-job.ts';
import type { DecodedPhoto } from '../../src/image/picture.ts';
import { sharedChromium, sourcesUrl } from '../helpers/shared.ts';

/** The same photograph through the command line's decoder and through the page's, in Chromium: the same luminance, so the same dots. */
let page: Page;

beforeAll(async () => {
  page = await (await sharedChromium()).newPage();
  await page.goto(`${sourcesUrl()}test/parity/harness/index.html`);
  await page.addScriptTag({
    type: 'module',
    content: "import { decodePhoto } from '/src/page/burn/worker/decode-photo.ts'; window.decodePhoto = decodePhoto;",
  });
  await page.waitForFunction(() => 'decodePhoto' in window, null, { timeout: 60_000 });
});
afterAll(async () => {
  await page?.context().close();
});

interface OnPage {
  readonly width: number;
  readonly height: number;
  readonly luminance: readonly number[];
  readonly alpha: readonly number[] | null;
  readonly castless: readonly number[] | null;
}

const decodeOnPage = (bytes: Buffer): Promise<OnPage> =>
  page.evaluate(async (base64) => {
    const decode = (window as unknown as { decodePhoto(bytes: Uint8Array): Promise<DecodedPhoto> }).decodePhoto;
    const { picture, castless } = await decode(Uint8Array.from(atob(base64), (sign) => sign.charCodeAt(0)));
    return {
      width: picture.width,
      height: picture.height,
      luminance: Array.from(picture.luminance),
      alpha: picture.alpha && Array.from(picture.alpha),
      castless: castless && Array.from(castless.luminance),
    };
  }, bytes.toString('base64'));

const { cases } = JSON.parse(readFileSync('test/fixtures/image/profiles/profiles.json', 'utf8')) as {
  cases: { name: string; profile: string }[];
};
const profileOf = (name: string): Buffer =>
  Buffer.from(cases.find((one) => one.name === name)?.profile ?? '', 'base64');
const [WIDE, P3, LINEAR, GREY] = ['wide, gamma 2.2', 'P3, parametric', 'sRGB primaries, linear', 'grey, gamma 1.8'].map(
  profileOf,
);

const [WIDTH, HEIGHT] = [61, 47];
/** Ramps and soft waves in colours that differ, as a photograph has them. */
function pixels(channels: 1 | 2 | 3 | 4, full: 255 | 65535) {
  const length = WIDTH * HEIGHT * channels;
  const data = full === 255 ? new Uint8Array(length) : new Uint16Array(length);
  for (let i = 0; i < length; i++) {
    const [x, y, k] = [Math.floor(i / channels) % WIDTH, Math.floor(i / channels / WIDTH), i % channels];
    const opacity = channels % 2 === 0 && k === channels - 1;
    data[i] = Math.round(
      full * (opacity ? (x + 1) / WIDTH : 0.5 + 0.24 * Math.sin(x / (5 + 3 * k)) + 0.24 * Math.cos(y / (4 + k))),
    );
  }
  return sharp(data, { raw: { width: WIDTH, height: HEIGHT, channels } });
}
const png8 = (channels: 1 | 2 | 3 | 4) =>
  pixels(channels, 255)
    .toColourspace(channels < 3 ? 'b-w' : 'srgb')
    .png()
    .toBuffer();
const png16 = (channels: 1 | 2 | 3 | 4) =>
  pixels(channels, 65535)
    .toColourspace(channels < 3 ? 'grey16' : 'rgb16')
    .png()
    .toBuffer();

/** A PNG with one more part after its header. */
function withPart(png: Buffer, type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type), data]);
  const frame = Buffer.alloc(8);
  frame.writeUInt32BE(data.length, 0);
  frame.writeUInt32BE(crc32(body), 4);
  return Buffer.concat([png.subarray(0, 33), frame.subarray(0, 4), body, frame.subarray(4), png.subarray(33)]);
}
const withProfile = (png: Buffer, profile: Buffer): Buffer =>
  withPart(png, 'iCCP', Buffer.concat([Buffer.from('test\0\0'), deflateSync(profile)]));
function jpegWith(jpeg: Buffer, profile: Buffer): Buffer {
  const head = Buffer.from([0xff, 0xe2, 0, 0, ...Buffer.from('ICC_PROFILE\0'), 1, 1]);
  head.writeUInt16BE(profile.length + 16, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, profile, jpeg.subarray(2)]);
}

const KINDS: [string, () => Promise<Buffer>][] = [
  ['PNG, 8 bits', () => png8(3)],
  ['PNG, 8 bits, grey', () => png8(1)],
  ['PNG, 8 bits, opacity', () => png8(4)],
  ['PNG, 8 bits, grey, opacity', () => png8(2)],
  ['PNG, palette', () => pixels(3, 255).png({ palette: true, colours: 60 }).toBuffer()],
  ['PNG, 8 bits, wide profile', async () => withProfile(await png8(3), WIDE)],
  ['PNG, 8 bits, P3', async () => withProfile(await png8(3), P3)],
  ['PNG, 8 bits, linear profile', async () => withProfile(await png8(3), LINEAR)],
  ['PNG, 8 bits, opacity, wide profile', async () => withProfile(await png8(4), WIDE)],
  ['PNG, 8 bits, grey with a profile', async () => withProfile(await png8(1), GREY)],
  ['PNG, 8 bits, gAMA alone', async () => withPart(await png8(3), 'gAMA', Buffer.from([0, 1, 0x86, 0xa0]))],
  ['PNG, 16 bits', () => png16(3)],
  ['PNG, 16 bits, grey', () => png16(1)],
  ['PNG, 16 bits, opacity', () => png16(4)],
  ['PNG, 16 bits, wide profile', async () => withProfile(await png16(3), WIDE)],
  ['PNG, 16 bits, P3', async () => withProfile(await png16(3), P3)],
  ['PNG, 16 bits, linear profile', async () => withProfile(await png16(3), LINEAR)],
  ['PNG, 16 bits, grey with a profile', async () => withProfile(await png16(1), GREY)],
  ['JPEG', () => pixels(3, 255).jpeg({ quality: 90 }).toBuffer()],
  ['JPEG, full chroma', () => pixels(3, 255).jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).toBuffer()],
  ['JPEG, progressive', () => pixels(3, 255).jpeg({ progressive: true }).toBuffer()],
  ['JPEG, grey', () => pixels(1, 255).toColourspace('b-w').jpeg().toBuffer()],
  ['JPEG, turned by Exif', () => pixels(3, 255).withMetadata({ orientation: 6 }).jpeg().toBuffer()],
  ['JPEG, wide profile', async () => jpegWith(await pixels(3, 255).jpeg({ quality: 90 }).toBuffer(), WIDE)],
  ['JPEG, P3', async () => jpegWith(await pixels(3, 255).jpeg().toBuffer(), P3)],
  [
    'JPEG, grey with a profile',
    async () => jpegWith(await pixels(1, 255).toColourspace('b-w').jpeg().toBuffer(), GREY),
  ],
  ['WebP', () => pixels(3, 255).webp({ quality: 90 }).toBuffer()],
  ['WebP, lossless', () => pixels(3, 255).webp({ lossless: true }).toBuffer()],
  [
    'WebP, wide profile',
    async () =>
      sharp(withProfile(await png8(3), WIDE))
        .keepIccProfile()
        .webp({ lossless: true })
        .toBuffer(),
  ],
];

describe('the page and the command line take the same pixels from', () => {
  test.each(KINDS)('%s', async (name, make) => {
    const bytes = await make();
    const { picture, castless } = await decodePhoto(bytes, name);
    const there = await decodeOnPage(bytes);
    expect([there.width, there.height]).toEqual([picture.width, picture.height]);
    const most = (a: ArrayLike<number> | null, b: ArrayLike<number> | null) =>
      a === null || b === null ? (a === b ? 0 : 1) : Math.max(...Array.from(a, (value, i) => Math.abs(value - b[i])));
    // Luminance in single precision.
    const off = [
      most(there.luminance, picture.luminance),
      most(there.alpha, picture.alpha),
      most(there.castless, castless?.luminance ?? null),
    ];
    expect(Math.max(...off)).toBeLessThan(2e-7);
  });

  test('which are not those of the same file without its profile', async () => {
    for (const make of [png8, png16]) {
      const plain = await decodePhoto(await make(3), 'plain');
      const wide = await decodePhoto(withProfile(await make(3), WIDE), 'wide');
      const off = wide.picture.luminance.map((value, i) => Math.abs(value - plain.picture.luminance[i]));
      expect(Math.max(...off)).toBeGreaterThan(0.02);
      // And 16 bits tell what 8 bits tell: they were once taken into another space on the way.
      const [deep, shallow] = [await png16(3), await png8(3)].map((png) => withProfile(png, P3));
      const [a, b] = [(await decodePhoto(deep, 'deep')).picture, (await decodePhoto(shallow, 'shallow')).picture];
      expect(Math.max(...a.luminance.map((value, i) => Math.abs(value - b.luminance[i])))).toBeLessThan(0.006);
    }
  });
});
