import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { inflateSync } from 'node:zlib';
import { decode } from 'fast-png';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { createPiece, plainSlab } from '../../src/piece/defaults.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

/** Everything that is written is read by readers that share no code with the writer: libpng in libvips, fast-png, and zlib itself. */
let folder: Awaited<ReturnType<typeof temporaryFolder>>;
beforeAll(async () => {
  folder = await temporaryFolder();
});
afterAll(() => folder.remove());

interface Read {
  readonly width: number;
  readonly height: number;
  readonly first: number[];
}

/** First channel of a PNG as three readers see it, of its own depth. @throws whatever one of them finds wrong. */
async function readByAll(path: string): Promise<Read> {
  const png = await readFile(path);
  const one = decode(png, { checkCrc: true });
  const { width, height, channels, depth } = one;
  const parts: Buffer[] = [];
  for (let at = 8; at < png.length; at += 12 + png.readUInt32BE(at)) {
    if (png.toString('latin1', at + 4, at + 8) === 'IDAT')
      parts.push(png.subarray(at + 8, at + 8 + png.readUInt32BE(at)));
  }
  const rowBytes = Math.ceil((width * channels * depth) / 8);
  expect(inflateSync(Buffer.concat(parts))).toHaveLength(height * (rowBytes + 1));
  const first = Array.from({ length: width * height }, (_, i) =>
    depth === 1
      ? (one.data[Math.floor(i / width) * rowBytes + ((i % width) >> 3)] >> (7 - ((i % width) & 7))) & 1
      : one.data[i * channels],
  );
  const deep = depth === 16;
  const { data, info } = await sharp(png, { failOn: 'warning' })
    .toColourspace(deep ? 'rgb16' : 'srgb')
    .raw({ depth: deep ? 'ushort' : 'uchar' })
    .toBuffer({ resolveWithObject: true });
  expect([info.width, info.height]).toEqual([width, height]);
  const other = deep ? new Uint16Array(data.buffer, data.byteOffset, data.length / 2) : data;
  const scale = depth === 1 ? 255 : 1;
  let differ = 0;
  for (let i = 0; i < first.length; i++) if (other[i * info.channels] !== scale * first[i]) differ++;
  expect(differ).toBe(0);
  return { width, height, first };
}

/** An array that NumPy would read: its header by hand, its values by a view. */
async function readNpy(path: string): Promise<{ shape: number[]; values: Float32Array }> {
  const bytes = await readFile(path);
  expect(bytes.toString('latin1', 0, 8)).toBe('\x93NUMPY\x01\x00');
  const start = 10 + bytes.readUInt16LE(8);
  expect(start % 64).toBe(0);
  const head = bytes.toString('latin1', 10, start);
  const found = /^\{'descr': '<f4', 'fortran_order': False, 'shape': \(([\d, ]+)\), \} *\n$/.exec(head);
  if (!found) throw new Error(head);
  const shape = found[1]
    .split(',')
    .filter((part) => part.trim())
    .map(Number);
  const copy = bytes.buffer.slice(bytes.byteOffset + start, bytes.byteOffset + bytes.length);
  return { shape, values: new Float32Array(copy) };
}

type Shade = (u: number, v: number, noise: () => number) => number;
/** Pictures as photographs are: skies, faces, fur, dark rooms, fine texture; and sizes that are no multiple of eight. */
const PICTURES: [string, number, number, Shade][] = [
  ['sky', 173, 97, (u, v) => 0.95 - 0.6 * v + 0.05 * Math.sin(9 * u)],
  [
    'portrait',
    90,
    131,
    (u, v, noise) => 0.15 + 0.75 * Math.exp(-8 * ((u - 0.5) ** 2 + (v - 0.45) ** 2)) + 0.04 * noise(),
  ],
  ['fur', 121, 120, (u, v, noise) => 0.5 + 0.3 * Math.sin(60 * u + 8 * Math.sin(11 * v)) * noise()],
  ['night', 257, 65, (u, v, noise) => 0.03 + (noise() > 0.985 ? 0.9 : 0) + 0.1 * u * v],
  ['leaves', 77, 200, (_, __, noise) => noise() ** 2],
  ['line', 11, 1, () => 0.7],
  ['strip', 700, 3, (u) => u],
  ['pole', 11, 500, (_, v) => v],
];

async function photo(name: string, width: number, height: number, shade: Shade): Promise<string> {
  const random = createGenerator(name.length);
  const grey = Uint8Array.from({ length: width * height }, (_, i) =>
    Math.round(
      255 *
        Math.min(
          1,
          Math.max(
            0,
            shade((i % width) / width, Math.floor(i / width) / height, () => random.nextUnit()),
          ),
        ),
    ),
  );
  const path = folder.file(`${name}.png`);
  await sharp(grey, { raw: { width, height, channels: 1 } })
    .png()
    .toFile(path);
  return path;
}
async function pieceFor(name: string, width: number): Promise<string> {
  const piece = createPiece(name, `${name}.png`);
  const path = folder.file(`${name}.json`);
  const picture = { ...piece.picture, widthMm: 0.1 * width, crop: 'rectangle' as const };
  await writeFile(
    path,
    JSON.stringify({
      ...piece,
      slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 400, heightMm: 400 },
      picture,
    }),
  );
  return path;
}
const done = async (argv: string[]) => {
  const ran = await runCli(argv);
  if (ran.code !== 0) throw new Error(`${argv.join(' ')}: ${ran.error}`);
};
const pngsIn = async (path: string) =>
  (await readdir(path)).filter((name) => name.endsWith('.png')).map((name) => join(path, name));

describe.each(PICTURES)('%s, %d × %d', (name, width, height, shade) => {
  test('the machine’s pictures, all forms, each dot as in the others', async () => {
    const [path, piece] = [await photo(name, width, height, shade), await pieceFor(name, width)];
    const pictures = new Map<string, Read>();
    for (const form of ['dots-1', 'dots-8', 'grey-16']) {
      for (const negative of [false, true]) {
        const out = folder.file(`${name}-${form}-${negative}`);
        await done([
          'job',
          path,
          '--piece',
          piece,
          '--out',
          out,
          '--only',
          'picture',
          '--form',
          form,
          ...(negative ? ['--negative'] : []),
        ]);
        const files = await pngsIn(out);
        expect(files).toHaveLength(1);
        const read = await readByAll(files[0]);
        expect([read.width, read.height]).toEqual([width, height]);
        pictures.set(`${form} ${negative}`, read);
      }
    }
    const of = (key: string) => pictures.get(key)?.first ?? [];
    expect(of('dots-8 false')).toEqual(of('dots-1 false').map((dot) => 255 * dot));
    expect(of('dots-1 true')).toEqual(of('dots-1 false').map((dot) => 1 - dot));
    expect(of('grey-16 true')).toEqual(of('grey-16 false').map((value) => 65535 - value));
    if (width * height > 1000) {
      const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
      expect(mean(of('dots-1 false'))).toBeGreaterThan(0.02);
      expect(mean(of('dots-1 false'))).toBeLessThan(0.98);
    }
  });

  test('the prepared picture, the proof’s pictures and its fields', async () => {
    const [path, piece] = [await photo(name, width, height, shade), await pieceFor(name, width)];
    const out = folder.file(`${name}-proof`);
    await done(['prepare', path, '--piece', piece, '--out', folder.file(`${name}-prepared.png`)]);
    await readByAll(folder.file(`${name}-prepared.png`));
    await done(['proof', path, '--piece', piece, '--tries', '0', '--fields', '--out', out]);
    const files = await pngsIn(out);
    expect(files.map((file) => file.split('/').pop()).sort()).toEqual(['proof.png', 'uncleared.png']);
    for (const file of files) expect(await readByAll(file)).toMatchObject({ width, height });
    const arrays = (await readdir(out)).filter((file) => file.endsWith('.npy'));
    expect(arrays.length).toBeGreaterThanOrEqual(6);
    for (const file of arrays) {
      const { shape, values } = await readNpy(join(out, file));
      expect(shape).toEqual([height, width]);
      expect(values).toHaveLength(width * height);
      expect(values.every(Number.isFinite)).toBe(true);
    }
  });
});

test('a card’s pictures', async () => {
  const piece = await pieceFor('sky', 170);
  for (const kind of ['step-wedge', 'second-pass', 'swatch']) {
    await done(['card', kind, '--piece', piece, '--out', folder.file(`card-${kind}`)]);
    const read = await readByAll(folder.file(`card-${kind}-expected.png`));
    expect(new Set(read.first).size).toBeGreaterThan(5);
  }
});
