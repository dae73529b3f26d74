import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { checkPiece } from '../../src/piece/file.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let photo: string;
beforeAll(async () => {
  folder = await temporaryFolder();
  photo = folder.file('landing.png');
  const data = Uint8Array.from({ length: 40 * 24 }, (_, i) => (i % 40 < 20 ? 245 : (9 * (i % 40)) % 200));
  await writeFile(
    photo,
    await sharp(data, { raw: { width: 40, height: 24, channels: 1 } })
      .png()
      .toBuffer(),
  );
});
afterAll(() => folder.remove());

describe('choose', () => {
  test('prints trade-offs as JSON and writes each as a piece that can be opened', async () => {
    const out = folder.file('found');
    const ran = await runCli([
      'choose',
      photo,
      '--width-mm',
      '12',
      '--cold',
      '--quality',
      '80',
      '--out',
      out,
      '--json',
    ]);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const found = JSON.parse(ran.out);
    expect(found).toMatchObject({ wishes: { quality: 80, minutes: 50, safety: 50 }, obstacle: null, final: true });
    expect(found.suggestions.length).toBeGreaterThan(0);
    for (const { id, pass, curve, checked, odds } of found.suggestions) {
      const piece = checkPiece(JSON.parse(await readFile(`${out}/${id}.json`, 'utf8')));
      expect(piece.passes).toEqual([pass]);
      expect(piece.picture.tone.curve).toEqual(curve);
      expect(checked.scorchedShare).toBeLessThan(0.005);
      expect(odds.clears).toBeGreaterThanOrEqual(0.95);
    }
  });

  test('says into which file each of them went', async () => {
    const out = folder.file('named');
    const ran = await runCli(['choose', photo, '--width-mm', '12', '--cold', '--out', out]);
    const named = [...ran.out.matchAll(/^ {2}Written to (.+)\.$/gm)].map(([, path]) => path);
    expect(named.length).toBe(ran.out.match(/^\d+ min: /gm)!.length);
    expect(named.toSorted()).toEqual((await readdir(out)).map((name) => join(out, name)).toSorted());
  });

  test.each([
    [['--quality', 'much'], '--quality: must be a number from 0 to 100'],
    [['--safety', '101'], '--safety: must be a number from 0 to 100'],
  ])('refuses %j', async (more, message) => {
    const ran = await runCli(['choose', photo, ...more]);
    expect(ran.code).toBe(2);
    expect(ran.error).toContain(message);
  });
});
