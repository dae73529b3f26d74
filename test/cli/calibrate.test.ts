import { readFile, writeFile } from 'node:fs/promises';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile } from '../../src/piece/file.ts';
import { parseCard } from '../../src/vision/card/card.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
const piece = createPiece('test', 'test.png');
beforeAll(async () => {
  folder = await temporaryFolder();
  await writeFile(folder.file('piece.json'), JSON.stringify(piece));
});
afterAll(() => folder.remove());

describe('from a card to the shelf', () => {
  test('card, read by eye, fit, shelf', async () => {
    const at = folder.file;
    const made = await runCli([
      'card',
      'check-strip',
      '--piece',
      at('piece.json'),
      '--size',
      '58x36',
      '--out',
      at('card'),
    ]);
    expect(made.error).toBe('');
    expect(made.code).toBe(0);
    const card = parseCard(await readFile(at('card.json'), 'utf8'));
    const job = decodePieceFile(await readFile(at('card.foreburn')));
    expect(job.piece.slab).toMatchObject({ shape: 'rectangle', widthMm: 58, heightMm: 36 });
    expect(job.images.get('card.png')?.length).toBeGreaterThan(100);
    expect((await readFile(at('card-expected.png'))).length).toBeGreaterThan(1000);

    const read = await runCli([
      'read',
      '--card',
      at('card.json'),
      '--seen',
      'shows=3,clears=5',
      '--out',
      at('reading.json'),
      '--json',
    ]);
    expect(read.error).toBe('');
    expect(JSON.parse(read.out)).toMatchObject({ cardId: card.id, how: 'eye' });

    const fitted = await runCli([
      'fit',
      at('reading.json'),
      '--card',
      at('card.json'),
      '--piece',
      at('piece.json'),
      '--known',
      'coat0.thickness',
      '--out',
      at('fitted.foreburn'),
      '--json',
    ]);
    expect(fitted.error).toBe('');
    const report = JSON.parse(fitted.out);
    expect(report.certainty.source).toBe('calibrated');
    expect(report.residuals).toHaveLength(2);
    expect(report.untold.length).toBeGreaterThan(0);
    expect(decodePieceFile(await readFile(at('fitted.foreburn'))).piece.certainty.covariance?.names).toContain(
      'coat0.threshold',
    );

    const told = await runCli([
      'fit',
      at('reading.json'),
      '--card',
      at('card.json'),
      '--piece',
      at('piece.json'),
      '--out',
      at('again.foreburn'),
    ]);
    expect(told.out).toMatch(/^Not measured( apart)?: [^;]+; this would measure it: .+\.$/m);
    expect(told.out).not.toMatch(/cards? was not measured/);
    // What would help is named once, however many groups of numbers it would measure.
    const helps = [...told.out.matchAll(/; this would measure it: (.+)\.$/gm)].map(([, one]) => one);
    expect(new Set(helps).size).toBe(helps.length);
    expect(told.out).not.toContain('  (9 in 10');

    const shelf = ['--shelf', at('shelf.json')];
    expect((await runCli(['shelf', 'add', 'Peat', '--piece', at('fitted.foreburn'), ...shelf])).code).toBe(0);
    expect((await runCli(['shelf', 'list', ...shelf])).out).toMatch(/Peat {2}2031-05-02 {2}Peat over Oat/);
    const taken = await runCli([
      'shelf',
      'take',
      'Peat',
      '--piece',
      at('piece.json'),
      '--out',
      at('taken.foreburn'),
      ...shelf,
    ]);
    expect(taken.code).toBe(0);
    const compared = await runCli(['shelf', 'compare', 'Peat', 'Peat', ...shelf]);
    expect(compared.out).not.toMatch(/differs/);
    const checked = await runCli(['shelf', 'check', 'Peat', at('reading.json'), '--card', at('card.json'), ...shelf]);
    expect(checked.out).toMatch(/still holds/);
    // A damaged entry: the rest is listed, nothing is written over it.
    const file = JSON.parse(await readFile(at('shelf.json'), 'utf8'));
    file.entries.push({ name: 'broken' });
    await writeFile(at('shelf.json'), JSON.stringify(file));
    const listed = await runCli(['shelf', 'list', ...shelf]);
    expect(listed.out).toMatch(/Peat/);
    expect(listed.error).toMatch(/"broken" is left out/);
    const refused = await runCli(['shelf', 'add', 'More', '--piece', at('fitted.foreburn'), ...shelf]);
    expect(refused.code).toBe(1);
    expect(JSON.parse(await readFile(at('shelf.json'), 'utf8')).entries).toHaveLength(2);
  }, 240_000);

  test('what is wrong is told', async () => {
    const at = folder.file;
    expect((await runCli(['card', 'wheel'])).error).toMatch(/there is no "wheel"/);
    expect((await runCli(['card', 'lines', '--size', '30x20'])).error).toMatch(/at least 58 × 36/);
    expect((await runCli(['read', '--card', at('none.json')])).code).toBe(2);
    expect((await runCli(['read', '--card', at('none.json'), '--seen', 'shows=1'])).error).toMatch(/no such file/);
    expect((await runCli(['fit'])).code).toBe(2);
    expect((await runCli(['shelf', 'dust'])).code).toBe(2);
    expect(
      (await runCli(['shelf', 'add', 'Peat', '--piece', at('piece.json'), '--shelf', at('new.json')])).error,
    ).toMatch(/only calibrated/);
    await writeFile(at('newer.json'), '{"format":"foreburn-shelf","version":9,"entries":[]}');
    expect((await runCli(['shelf', 'list', '--shelf', at('newer.json')])).error).toMatch(/newer Foreburn/);
  });
});
