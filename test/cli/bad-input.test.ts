import { truncate, writeFile } from 'node:fs/promises';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import { tiffStream, withPngChunk } from '../helpers/picture-parts.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
beforeAll(async () => {
  folder = await temporaryFolder();
});
afterAll(() => folder.remove());

async function save(name: string, bytes: Uint8Array | string): Promise<string> {
  await writeFile(folder.file(name), bytes);
  return folder.file(name);
}
async function refusal(...argv: string[]): Promise<string> {
  const ran = await runCli(argv);
  expect(ran.code).not.toBe(0);
  expect(ran.error).toMatch(/^foreburn: /);
  for (const line of ran.error.trimEnd().split('\n')) expect(line.length).toBeLessThanOrEqual(310);
  return ran.error;
}
const picture = () =>
  sharp({ create: { width: 40, height: 30, channels: 3, background: '#d0b080' } })
    .png()
    .toBuffer();

describe('files that cannot be used are named with the reason, before they are read', () => {
  test('a folder, a device that never ends, a file larger than any', async () => {
    expect(await refusal('proof', folder.path)).toBe(`foreburn: ${folder.path}: this is a folder; name a file in it\n`);
    expect(await refusal('proof', '/dev/zero')).toContain('/dev/zero: this is no file that can be read as a whole');
    const huge = await save('huge.png', '');
    await truncate(huge, 5e9);
    expect(await refusal('proof', huge)).toBe(`foreburn: ${huge}: it is larger than 256 MiB\n`);
    const card = await save('huge.json', '');
    await truncate(card, 5e9);
    expect(await refusal('read', '--card', card, '--seen', 'shows=1')).toContain('huge.json: it is larger than 32 MiB');
    expect(await refusal('proof', `${folder.path}/${'x'.repeat(300)}`, '--out', folder.file('named'))).toMatch(
      /: its name is too long\n$/,
    );
  });

  test('a picture whose Exif data would fill the memory is read', async () => {
    const entries = Array.from({ length: 4000 }, (_, i) => ({ tag: 400 + i, type: 3, count: 100_000, value: 8 }));
    const photo = await save('exif.png', withPngChunk(await picture(), 'eXIf', tiffStream(entries, 250_000)));
    const ran = await runCli(['proof', photo, '--width-mm', '2', '--out', folder.file('exif'), '--flat-film']);
    expect(ran).toMatchObject({ code: 0, error: '' });
  });

  test('a picture with a wrong checksum, and one that its decoder cannot read', async () => {
    const spoiled = Uint8Array.from(await picture());
    spoiled[spoiled.length - 20] ^= 1;
    expect(await refusal('proof', await save('spoiled.png', spoiled))).toMatch(
      /spoiled\.png is damaged \(the checksum of its part IDAT is wrong\)\. Open it in an image editor/,
    );
    const jpeg = Uint8Array.from(
      await sharp(await picture())
        .jpeg()
        .toBuffer(),
    );
    jpeg.fill(0xee, jpeg.length - 60, jpeg.length - 2);
    jpeg.fill(0, 20, 60);
    const message = await refusal('proof', await save('spoiled.jpg', jpeg));
    expect(message).toMatch(/spoiled\.jpg is damaged \(it cannot be decoded\)\. Open it in an image editor/);
  });

  test('a piece that was changed by one bit', async () => {
    const bytes = encodePieceFile({ piece: createPiece('', 'a.png'), images: new Map([['a.png', await picture()]]) });
    bytes[bytes.length - 300] ^= 16;
    const path = await save('bit.foreburn', bytes);
    expect(await refusal('proof', '--piece', path)).toContain(`${path}: the file is damaged: it cannot be unpacked`);
  });

  test('a card says where it is wrong', async () => {
    const path = await save('card.json', '{"format": "foreburn-card", "version": 1}');
    const message = await refusal('read', '--card', path, '--seen', 'shows=1');
    expect(message).toContain(`${path}: the card is damaged: kind: must be "step-wedge" or`);
    expect(message).not.toContain('Invalid input');
  });
});

describe('numbers on the command line', () => {
  test.each(['1e-7', '0', '0.5', '-1', '1e9', 'NaN', ''])(
    'a power scale of "%s" is refused with its range',
    async (scale) => {
      const photo = await save('photo.png', await picture());
      expect(await refusal('job', photo, `--power-scale=${scale}`)).toContain(
        `--power-scale: must be a number from 1 to 1000000, got "${scale}"`,
      );
    },
  );

  test('what is quoted is cut', async () => {
    const photo = await save('photo.png', await picture());
    expect(await refusal('proof', photo, '--feed', '9'.repeat(5000))).toContain(`${'9'.repeat(59)}…"`);
    expect(await refusal('x'.repeat(9000))).toContain('there is no command "xxx');
  });
});
