import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPreparation } from '../../src/burn/prepare.ts';
import { readShopPieces } from '../../src/cli/shop-pieces.ts';
import { optionSeconds, sumQuote } from '../../src/outputs/paper/quote-paper.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import type { Order } from '../../src/piece/schema.ts';
import { materialsOf } from '../../src/shop/materials.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import { readProgram } from '../helpers/gcode-reader.ts';
import { flatPhoto } from '../helpers/tiny-piece.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let pieces: string;

async function put(name: string, order: Partial<Order>, widthMm = 40): Promise<void> {
  const piece = createPiece(name, 'photo.jpg');
  const made = {
    ...piece,
    slab: { ...piece.slab, widthMm, heightMm: 30 },
    picture: { ...piece.picture, widthMm: 20 },
    passes: [{ ...piece.passes[0], rowPitchMm: 0.5 }],
    placement: { ...piece.placement, bedWidthMm: 140, bedHeightMm: 120 },
    order: { ...piece.order, ...order },
  };
  const images = new Map([['photo.jpg', new Uint8Array(await flatPhoto(200))]]);
  await writeFile(join(pieces, `${name}.foreburn`), encodePieceFile({ piece: made, images }));
}

beforeAll(async () => {
  folder = await temporaryFolder();
  pieces = folder.file('pieces');
  await mkdir(join(pieces, 'more'), { recursive: true });
  await put('Barge', { dueOn: '2031-05-06', state: 'painted', quantity: 2 });
  await put('Cottage', { dueOn: '2031-05-05', state: 'painted' });
  await put('more/Rocks', { dueOn: '2031-05-20', state: 'idea' });
  await put('Sold', { state: 'delivered' });
});
afterAll(() => folder.remove());

describe('plan', () => {
  test('lays out days, earliest due first, with what the unpainted ones take', async () => {
    const argv = ['plan', pieces, '--from', '2031-05-05', '--days', '14', '--hours', '6', '--begin', '09:30'];
    const ran = await runCli([...argv, '--json']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const plan = JSON.parse(ran.out);
    const burns = plan.days.flatMap(({ day, tasks }: { day: string; tasks: { kind: string; id: string }[] }) =>
      tasks.filter(({ kind }) => kind === 'burn').map(({ id }) => `${day} ${id.replace(/^.*\//, '')}`),
    );
    expect(burns.slice(0, 3)).toEqual([
      '2031-05-05 Cottage.foreburn',
      '2031-05-05 Barge.foreburn',
      '2031-05-05 Barge.foreburn',
    ]);
    expect(burns[3]).toContain('Rocks');
    expect(plan.days[0].tasks[0].startMinute).toBe(9 * 60 + 30);
    expect(plan).toMatchObject({ unplaced: [], late: [], terms: { hours: Array(7).fill(6) } });
    const [rocks] = await readShopPieces('plan', [join(pieces, 'more')]);
    expect(plan.materials).toEqual(materialsOf([rocks.piece]));
    const told = await runCli(argv);
    expect(told.out).toMatch(/^09:30–\S+ +Burn: one pass +Cottage +2031-05-05$/m);
    expect(told.out).toContain('1 × lime, oval, 40 × 30 × 22 mm');
  });

  test.each([
    [['--hours', '8,8'], '--hours: give one number, or seven'],
    [['--hours', '0'], '--hours: at least one day must have some'],
    [['--from', '5.5.2031'], '--from: must be a day like 2031-05-02'],
    [['--begin', '25:00'], '--begin: write it as 08:00'],
  ])('%j: a wrong call', async (more, says) => {
    const ran = await runCli(['plan', pieces, ...more]);
    expect(ran.code).toBe(2);
    expect(ran.error).toContain(says);
  });
});

describe('bed', () => {
  test('lays those that wait on as many beds as it takes, with a program for each or one for all', async () => {
    const out = folder.file('beds');
    const ran = await runCli(['bed', pieces, '--out', out, '--together', '--json']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const { beds, left } = JSON.parse(ran.out);
    expect(left).toEqual([]);
    expect(beds.flat()).toHaveLength(4);
    const files = await readdir(join(out, 'bed-1'));
    expect(files).toContain('READ ME.txt');
    expect(files).toContain('all-slabs.gcode');
    expect(files.filter((name) => /^\d-[a-z-]+-walk-(slab|picture)\.gcode$/.test(name))).toHaveLength(
      2 * beds[0].length,
    );
    const all = await readFile(join(out, 'bed-1', 'all-slabs.gcode'), 'ascii');
    const programs = all.split(/(?<=^M0\n)\(Stop: .*\n/m);
    expect(programs).toHaveLength(beds[0].length);
    // Each burns about the middle of its own slab.
    for (const [i, text] of programs.entries()) {
      const lit = readProgram(text.replace(/M0\n$/, 'M2\n')).motions.filter(({ s, beam }) => s > 0 && beam !== 'off');
      const xs = lit.map(({ to }) => to[0]);
      expect((Math.min(...xs) + Math.max(...xs)) / 2).toBeCloseTo(beds[0][i].xMm, 0);
    }
    expect(await readFile(join(out, 'bed-1', 'drawing.svg'), 'utf8')).toContain('>Barge</text>');
    const single = folder.file('singles');
    await runCli(['bed', pieces, '--out', single, '--size', '400x300']);
    const names = (await readdir(join(single, 'bed-1'))).filter((name) => name.endsWith('pass-1.gcode'));
    expect(names.sort()).toEqual([1, 2, 3, 4].map((i) => expect.stringMatching(new RegExp(`^${i}-`))));
  });

  test('a slab that no bed holds is named, the others are laid', async () => {
    const ran = await runCli(['bed', pieces, '--out', folder.file('small'), '--size', '60x34', '--drawing']);
    expect(ran.code).toBe(1);
    expect(ran.error).toContain('Too large for a bed of 60 × 34 mm');
  });
});

test('prices: the sums are those of the quote of each piece', async () => {
  const out = folder.file('prices.html');
  const argv = ['prices', join(pieces, 'Barge.foreburn'), join(pieces, 'Cottage.foreburn'), '--out', out];
  const ran = await runCli([...argv, '--size', '40x30', '--size', '80x60=12', '--costs', '--json']);
  expect(ran).toMatchObject({ code: 0, error: '' });
  const { rows } = JSON.parse(ran.out);
  expect(rows.map(({ finish }: { finish: string }) => finish)).toEqual(['Barge', 'Barge', 'Cottage', 'Cottage']);
  const [{ piece, photo }] = await readShopPieces('prices', [join(pieces, 'Barge.foreburn')]);
  const [option] = piece.quote.options;
  const seconds = optionSeconds(createPreparation(true), await photo(), piece, option);
  expect(rows[0].sum).toEqual(sumQuote(piece, option, seconds));
  expect(rows[1].sum.slab).toBe(12);
  expect(await readFile(out, 'utf8')).toContain('80 × 60 mm');
});
