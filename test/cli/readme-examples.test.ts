import { readFileSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { encodeSrgb } from '../../src/base/color/srgb.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import { landing } from '../helpers/diagnose.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let photo: string;
beforeAll(async () => {
  folder = await temporaryFolder();
  photo = folder.file('photo.jpg');
  const { width, height, luminance } = landing(480, 360);
  const grey = Uint8Array.from(luminance, (value) => Math.round(255 * encodeSrgb(Math.min(1, value))));
  await sharp(grey, { raw: { width, height, channels: 1 } })
    .jpeg({ quality: 92 })
    .toFile(photo);
});
afterAll(() => folder.remove());

const examples = [...readFileSync('README.md', 'utf8').matchAll(/^npm run burn -- (proof photo\.jpg .*)$/gm)].map(
  ([, line]) => [...line.matchAll(/"([^"]*)"|(\S+)/g)].map(([, quoted, plain]) => quoted ?? plain),
);

describe('the first examples of the README', () => {
  test('are there', () => expect(examples.length).toBeGreaterThanOrEqual(2));

  // As written, and cold: nobody should need the heat of row upon row for a picture that is not black.
  test.each(examples.flatMap((argv) => [[argv, []] as const, [argv, ['--cold']] as const]))(
    '%j %j: a light picture, not a black one',
    async ([command, , ...options], more) => {
      const out = folder.file('out');
      const ran = await runCli([
        command,
        photo,
        ...options,
        ...more,
        '--width-mm',
        '50',
        '--tries',
        '0',
        '--out',
        out,
        '--json',
      ]);
      expect(ran.error).toBe('');
      const report = JSON.parse(ran.out);
      expect(report.lightShare).toBeGreaterThan(0.2);
      expect(report.unclearedShare).toBeLessThan(0.1);
      // How much the heat between rows scorches is another matter, and depends on the picture's width.
      if (more.length > 0) expect(report.scorchedShare).toBeLessThan(0.02);
      // The sky is seen as light.
      const { data, info } = await sharp(await readFile(`${out}/proof.png`))
        .greyscale()
        .raw()
        .toBuffer({ resolveWithObject: true });
      const sky: number[] = [];
      for (let y = Math.round(0.15 * info.height); y < 0.4 * info.height; y++)
        for (let x = Math.round(0.35 * info.width); x < 0.65 * info.width; x++)
          sky.push(data[(y * info.width + x) * info.channels]);
      expect(sky.reduce((sum, value) => sum + value, 0) / sky.length).toBeGreaterThan(140);
    },
  );
});
