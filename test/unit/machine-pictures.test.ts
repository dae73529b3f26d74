import { inflateSync } from 'node:zlib';
import { decode } from 'fast-png';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { drawingToSvg } from '../../src/base/geometry/outline.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import type { Photo } from '../../src/burn/prepare.ts';
import { type PngLayout, pngStream } from '../../src/image/png-stream.ts';
import type { MachineFile } from '../../src/outputs/program/machine-file.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { svgToOutline } from '../../src/vision/slab/svg.ts';
import { readPngResolution } from '../helpers/png-resolution.ts';

const joined = (parts: Iterable<{ readonly bytes: Uint8Array }>): Buffer =>
  Buffer.concat([...parts].map(({ bytes }) => bytes));

describe('PNG written part by part', () => {
  test('sparse dots, as screens leave them in dark areas, come back as they were', () => {
    for (let seed = 1; seed <= 40; seed++) {
      const random = createGenerator(seed);
      const [width, height] = [30, 30];
      const dots = Uint8Array.from({ length: 2 * width * height }, () => (random.nextUnit() < 0.1 ? 255 : 0));
      const layout: PngLayout = { width, height, bits: 8, alpha: true, pitchMm: 0.1 };
      const png = joined(pngStream(layout, (y, row) => row.set(dots.subarray(2 * y * width, 2 * (y + 1) * width))));
      expect(Buffer.compare(Buffer.from(decode(png, { checkCrc: true }).data as Uint8Array), Buffer.from(dots))).toBe(
        0,
      );
    }
  });

  // Two decoders that share no code: libvips (through sharp) and fast-png.
  test.each([
    [1, false],
    [8, false],
    [8, true],
    [16, true],
  ] as const)('%d bits, transparency %s: two decoders read the same values', async (bits, alpha) => {
    const random = createGenerator(bits);
    const [width, height] = [37, 300];
    const layout: PngLayout = { width, height, bits, alpha, pitchMm: 0.085 };
    const channels = alpha ? 2 : 1;
    const values = Uint16Array.from({ length: width * height * channels }, () =>
      Math.floor(2 ** bits * random.nextUnit()),
    );
    const png = joined(
      pngStream(layout, (y, row) => {
        for (let i = 0; i < width * channels; i++) {
          const value = values[y * width * channels + i];
          if (bits === 1) row[i >> 3] |= value << (7 - (i & 7));
          else if (bits === 8) row[i] = value;
          else row.set([value >> 8, value & 255], 2 * i);
        }
      }),
    );
    expect(readPngResolution(png)).toEqual({ x: 11.765, y: 11.765 });
    const one = decode(png, { checkCrc: true });
    expect([one.width, one.height, one.depth, one.channels]).toEqual([width, height, bits, channels]);
    if (bits === 1) {
      const row = Math.ceil(width / 8);
      expect(
        [...values].every(
          (value, i) =>
            value === ((one.data[Math.floor(i / width) * row + ((i % width) >> 3)] >> (7 - ((i % width) & 7))) & 1),
        ),
      ).toBe(true);
    } else expect([...one.data]).toEqual([...values]);
    const deep = bits === 16;
    const { data, info } = await sharp(png)
      .toColourspace(deep ? 'rgb16' : 'srgb')
      .raw({ depth: deep ? 'ushort' : 'uchar' })
      .toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([width, height]);
    const other = deep ? new Uint16Array(data.buffer, data.byteOffset, data.length / 2) : data;
    // It gives grey as three equal colours, or leaves it alone.
    const greys = info.channels - (alpha ? 1 : 0);
    const seen = other.filter((_, i) => i % info.channels === 0 || i % info.channels >= greys);
    expect([...seen]).toEqual([...values].map((value) => (bits === 1 ? 255 * value : value)));
  });
});

describe('a picture of any size', () => {
  /** Dots of a ramp under noise: long runs at both ends, none alike in the middle. */
  const dots = (width: number, height: number, seed: number): Uint8Array => {
    const random = createGenerator(seed);
    return Uint8Array.from({ length: width * height }, (_, i) => ((i % width) / width > random.nextUnit() ? 1 : 0));
  };
  // libpng (through libvips) and zlib itself refuse a stream that refers to before its beginning.
  test.each([
    [1, false],
    [8, false],
    [8, true],
    [16, false],
  ] as const)('%d bits, transparency %s: zlib and libpng read every size', async (bits, alpha) => {
    for (const [width, height] of [
      [1, 1],
      [9, 2000],
      [64, 900],
      [333, 777],
      [1100, 430],
      [2400, 600],
    ]) {
      const values = dots(width, height, width);
      const channels = alpha ? 2 : 1;
      const full = 2 ** bits - 1;
      const png = joined(
        pngStream({ width, height, bits, alpha, pitchMm: 0.1 }, (y, row) => {
          for (let x = 0; x < width; x++) {
            const value = full * values[y * width + x];
            if (bits === 1) row[x >> 3] |= value << (7 - (x & 7));
            else if (bits === 8) row.fill(value, channels * x, channels * (x + 1));
            else row.set([value >> 8, value & 255], 2 * x);
          }
        }),
      );
      const { data, info } = await sharp(png, { failOn: 'warning' })
        .extractChannel(0)
        .toColourspace('b-w')
        .raw({ depth: 'uchar' })
        .toBuffer({ resolveWithObject: true });
      expect([info.width, info.height]).toEqual([width, height]);
      expect(Buffer.compare(data, Buffer.from(values.map((value) => 255 * value)))).toBe(0);
      const parts: Buffer[] = [];
      for (let at = 8; at < png.length; at += 12 + png.readUInt32BE(at)) {
        if (png.toString('latin1', at + 4, at + 8) === 'IDAT')
          parts.push(png.subarray(at + 8, at + 8 + png.readUInt32BE(at)));
      }
      expect(inflateSync(Buffer.concat(parts)).length).toBe(height * (1 + Math.ceil((width * bits * channels) / 8)));
    }
  });
});

/** A white spot near the far left corner on black; oval crop. */
const photo: Photo = {
  key: 'spot',
  picture: {
    width: 40,
    height: 30,
    luminance: Float32Array.from({ length: 1200 }, (_, i) =>
      i % 40 >= 8 && i % 40 < 14 && i >= 240 && i < 400 ? 1 : 0,
    ),
    alpha: null,
  },
  castless: null,
};

function pieceWith(headingRad: number, screen: 'bayer-4' | 'continuous' = 'bayer-4'): Piece {
  const piece = createPiece('Spot <b>&', 'spot.png');
  return {
    ...piece,
    picture: { ...piece.picture, widthMm: 40, crop: 'oval', offsetXMm: 12 },
    passes: [{ ...piece.passes[0], rowPitchMm: 0.5, headingRad, screen }],
  };
}

const open = async (file: MachineFile, piece: Piece): Promise<Buffer> =>
  joined((await openMachineFile(file, piece, photo)).parts);
const picture = (form: 'dots-1' | 'dots-8' | 'grey-16', negative = false): MachineFile => ({
  kind: 'picture',
  index: 0,
  form,
  negative,
});

describe('the picture of a pass', () => {
  test('dots of 8 bits: white where the beam is strongest, transparent where nothing burns', async () => {
    const { data, width, height } = decode(await open(picture('dots-8'), pieceWith(0)));
    expect([width, height]).toEqual([80, 60]);
    const at = (x: number, y: number) => [data[2 * (y * width + x)], data[2 * (y * width + x) + 1]];
    expect(at(21, 16)).toEqual([255, 255]);
    expect(at(60, 40)).toEqual([0, 255]);
    expect(at(1, 1)).toEqual([0, 0]);
    expect(new Set(data)).toEqual(new Set([0, 255]));
  });

  test('turned as the rows run: with a heading of 90° the rows go up the picture, the first at its left', async () => {
    const { data, width, height } = decode(await open(picture('dots-8'), pieceWith(Math.PI / 2)));
    expect([width, height]).toEqual([60, 80]);
    // The spot at (21, 16) of 80 × 60 is in row 21, 16 from the row's end.
    expect(data[2 * (21 * width + (59 - 16))]).toBe(255);
    expect(data[2 * (21 * width + 16)]).toBe(0);
  });

  test('one bit, and its negative', async () => {
    const bit = (png: Buffer, x: number, y: number) => {
      const { data, width } = decode(png);
      return (data[y * Math.ceil(width / 8) + (x >> 3)] >> (7 - (x & 7))) & 1;
    };
    const plain = await open(picture('dots-1'), pieceWith(0));
    const turned = await open(picture('dots-1', true), pieceWith(0));
    for (const [x, y, value] of [
      [21, 16, 1],
      [60, 40, 0],
      [1, 1, 0],
    ]) {
      expect(bit(plain, x, y)).toBe(value);
      expect(bit(turned, x, y)).toBe(1 - value);
    }
    await expect(open(picture('dots-1'), pieceWith(0, 'continuous'))).rejects.toThrow('Continuous tone has no dots');
  });

  test('grey of 16 bits, before it is screened', async () => {
    const { data, depth, width } = decode(await open(picture('grey-16'), pieceWith(0)));
    expect(depth).toBe(16);
    expect(data[2 * (16 * width + 21)]).toBeGreaterThan(64000);
    expect(data[2 * (40 * width + 60)]).toBeLessThan(600);
    expect([data[1], data[2 * (16 * width + 21) + 1]]).toEqual([0, 65535]);
  });
});

describe('the drawing', () => {
  test('holds the slab and the picture’s edge in mm, and names as text', async () => {
    const svg = (await open({ kind: 'drawing' }, pieceWith(0))).toString();
    expect(svg).toContain('<title>Spot &lt;b&gt;&amp;</title>');
    const [width, height, ...box] = /width="(\S+)mm" height="(\S+)mm" viewBox="(\S+) (\S+) (\S+) (\S+)"/
      .exec(svg)!
      .slice(1)
      .map(Number);
    // The oval's corners lie on it, so that its box is a hair smaller.
    for (const [found, truth] of [width, height, ...box].map((value, i) => [
      value,
      [300, 240, -150, -120, 300, 240][i],
    ])) {
      expect(found).toBeCloseTo(truth, 1);
    }
    // The reader of drawings takes the line that encloses most: the slab.
    const { outline } = svgToOutline(svg);
    expect(Math.max(...outline.map(([x]) => x))).toBeCloseTo(150, 2);
    // Another reader, at ten pixels a millimetre: line at the picture's right end, 12 + 20 mm from the middle.
    const { data, info } = await sharp(
      Buffer.from(svg.replace(/width="\S+mm" height="\S+mm"/, 'width="3000" height="2400"')),
    )
      .flatten({ background: '#fff' })
      .greyscale()
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([3000, 2400]);
    const row = [...data.subarray(1200 * 3000, 1201 * 3000)];
    const lines = row.flatMap((value, x) => (value < 128 && row[x - 1] >= 128 ? [x / 10 - 150] : []));
    expect(lines.some((x) => Math.abs(x - 32) < 0.2)).toBe(true);
    expect(lines.some((x) => Math.abs(x + 8) < 0.2)).toBe(true);
    expect(
      drawingToSvg('a\u0000b', [
        {
          id: 'p',
          lines: [
            [
              [0, 0],
              [1, 0],
              [0, 1],
            ],
          ],
        },
      ]),
    ).toContain('<title>a b</title>');
  });
});
