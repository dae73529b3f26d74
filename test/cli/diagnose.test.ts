import { writeFile } from 'node:fs/promises';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { withHardyUndercoat, withPromptSource } from '../helpers/burn.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let path = '';
beforeAll(async () => {
  folder = await temporaryFolder();
  const piece = withHardyUndercoat(withPromptSource(createPiece('Reach', 'reach.jpg')));
  const small = { ...piece, picture: { ...piece.picture, widthMm: 12 } };
  const light = { create: { width: 60, height: 45, channels: 3 as const, background: '#f4f4f4' } };
  const dark = {
    input: { create: { width: 20, height: 45, channels: 3 as const, background: '#202020' } },
    left: 0,
    top: 0,
  };
  const photo = new Uint8Array(await sharp(light).composite([dark]).jpeg().toBuffer());
  path = folder.file('reach.foreburn');
  await writeFile(path, encodePieceFile({ piece: small, images: new Map([['reach.jpg', photo]]) }));
});
afterAll(() => folder.remove());

describe('diagnose', { timeout: 240_000 }, () => {
  test('says in sentences what will go wrong, where, and what to set', async () => {
    const ran = await runCli(['diagnose', '--piece', path, '--light-end', '40', '--cold']);
    expect(ran.error).toBe('');
    expect(ran.code).toBe(0);
    expect(ran.out).toMatch(
      /1\. Will spoil it: 100 % of the light areas’ dots will keep dark residue: 40 % power is too weak/,
    );
    expect(ran.out).toMatch(/Look \d+ mm from the left and \d+ mm from the top of the picture\./);
    expect(ran.out).toMatch(
      /Set the light end to \d+ % \(\+\d+ points\)\. The light areas then clear in \d+ of 100 likely cases/,
    );
  });

  test('--json gives findings, chart and figures; what it proposes clears', async () => {
    const ran = await runCli(['diagnose', '--piece', path, '--light-end', '40', '--cold', '--json']);
    const { findings, chart, metrics, settings } = JSON.parse(ran.out);
    expect(findings[0]).toMatchObject({ kind: 'uncleared', value: 1, unit: 'share', causes: ['power'] });
    expect(chart.passes).toHaveLength(1);
    expect(metrics.toneError.rms).toBeGreaterThan(10);
    expect(settings.passes[0].lightEndPower).toBe(0.4);
    const [edit] = findings[0].change.edits;
    const out = folder.file('then');
    const power = String(100 * edit.set.lightEndPower);
    const then = await runCli([
      'proof',
      '--piece',
      path,
      '--light-end',
      power,
      '--cold',
      '--tries',
      '0',
      '--out',
      out,
      '--json',
    ]);
    expect(JSON.parse(then.out).unclearedShare).toBeLessThan(0.05);
  });

  test('a piece that comes out well is said to do so, with exit code 0', async () => {
    const ran = await runCli(['diagnose', '--piece', path, '--light-end', '100', '--cold']);
    expect(ran.code).toBe(0);
    expect(ran.out).toMatch(/^It will come out: /);
  });
});
