import { mkdir, readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { sumQuote } from '../../src/outputs/paper/quote-paper.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile } from '../../src/piece/file.ts';
import { materialsOf, paintOf } from '../../src/shop/materials.ts';
import { exportShelf, putOnShelf, shelve } from '../../src/studies/calibrate/shelf/shelf.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import { flatPhoto, tinyPiece } from '../helpers/tiny-piece.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let template: string;
const tiny = () => {
  const piece = createPiece('Template', 'template.jpg');
  return {
    ...piece,
    slab: {
      ...piece.slab,
      widthMm: 12,
      heightMm: 10,
      knots: [{ xMm: 0, yMm: 0, diameterMm: 2, tiltRad: 0, filled: false }],
    },
    passes: [{ ...piece.passes[0], rowPitchMm: 0.2 }],
  };
};
beforeAll(async () => {
  folder = await temporaryFolder();
  template = folder.file('template.json');
  await writeFile(template, JSON.stringify(tiny()));
  for (const [name, grey] of [
    ['cat', 200],
    ['boat', 120],
    ['dog', 160],
  ] as const)
    await writeFile(folder.file(`${name}.jpg`), await flatPhoto(grey));
  await writeFile(folder.file('kept.foreburn'), await tinyPiece('Kept'));
  const calibrated = { ...tiny(), certainty: { ...tiny().certainty, source: 'calibrated' as const } };
  const coats = calibrated.stack.coats.map((coat) => ({ ...coat, name: `Shelf ${coat.name}` }));
  const entry = shelve(
    { ...calibrated, stack: { ...calibrated.stack, coats } },
    { name: 'Winter tin', date: '2031-01-01', cardPicture: '' },
  );
  await writeFile(folder.file('shelf.json'), exportShelf(putOnShelf({ entries: [] }, entry)));
});
afterAll(() => folder.remove());

const LIST = [
  'photo;name;client;due;quantity;width;height;picture;paint',
  'cat.jpg;Cat by the stove;R. Farrow;2031-05-02;2;;;;',
  'boat.jpg;;;2.5.2031;0;;;;Summer tin',
  'dog.jpg;=1+1;;;;14;11;6;Winter tin',
  'nowhere.jpg;;;;;;;;',
  'cat.jpg;cat BY the stove;;;;;;;',
  'kept.foreburn;;M. Landing;2031-06-01;;;;;',
];

async function batch(out: string, ...more: string[]) {
  const list = folder.file('list.csv');
  const argv = ['batch', list, '--piece', template, '--out', out, '--shelf', folder.file('shelf.json'), ...more];
  const ran = await runCli([...argv, '--papers', 'html', '--json']);
  return { ...ran, report: ran.out === '' ? null : JSON.parse(ran.out) };
}

const opened = async (out: string, name: string) =>
  decodePieceFile(await readFile(join(out, name, `${name}.foreburn`))).piece;

describe('batch', () => {
  let out: string;
  let first: Awaited<ReturnType<typeof batch>>;
  beforeAll(async () => {
    out = folder.file('out');
    await writeFile(folder.file('list.csv'), `\ufeff${LIST.join('\r\n')}\r\n`);
    first = await batch(out);
  });

  test('does each row that can be done, and names row and column of what cannot', async () => {
    expect(first.code).toBe(1);
    expect(first.report.rows.map(({ row, status }: { row: number; status: string }) => [row, status])).toEqual([
      [2, 'done'],
      [3, 'failed'],
      [4, 'done'],
      [5, 'failed'],
      [6, 'failed'],
      [7, 'done'],
    ]);
    expect(first.error).toContain('3 of 6 could not be done');
    expect(first.error).toContain('row 3, due: must be a day like 2031-05-02, got "2.5.2031"');
    expect(first.report.rows[1].why).toContain('quantity: must be a number from 1 to 500, got "0"');
    expect(first.report.rows[1].why).toContain('paint: there is no "Summer tin" on the shelf');
    expect(first.error).toContain('nowhere.jpg: there is no such file');
    expect(first.error).toContain('row 6, name: row 2 has the same name');
    expect((await readdir(out)).sort()).toEqual(['1-1', 'cat-by-the-stove', 'kept', 'report.csv', 'report.json']);
    expect((await readdir(join(out, '1-1'))).sort()).toEqual([
      '1-1-drawing.svg',
      '1-1-pass-1.gcode',
      '1-1-proof.jpg',
      '1-1-quote.html',
      '1-1-sheet.html',
      '1-1-walk-picture.gcode',
      '1-1-walk-slab.gcode',
      '1-1.foreburn',
      'row.json',
    ]);
    // A table program takes nothing of it for a formula.
    expect(await readFile(join(out, 'report.csv'), 'utf8')).toContain("'=1+1");
  });

  test('a piece is the template’s but for what the list and the photograph say', async () => {
    const cat = await opened(out, 'cat-by-the-stove');
    expect(cat).toMatchObject({
      name: 'Cat by the stove',
      order: { dueOn: '2031-05-02', state: 'idea', quantity: 2 },
      quote: { client: 'R. Farrow' },
      slab: { widthMm: 12, heightMm: 10, knots: [] },
      passes: [{ rowPitchMm: 0.2 }],
    });
    const dog = await opened(out, '1-1');
    expect(dog).toMatchObject({ slab: { widthMm: 14, heightMm: 11 }, picture: { widthMm: 6, file: 'dog.jpg' } });
    expect(dog.stack.coats.map(({ name }) => name)).toEqual(['Shelf Peat', 'Shelf Oat']);
    const kept = await opened(out, 'kept');
    expect(kept).toMatchObject({
      name: 'Kept',
      slab: { widthMm: 30 },
      order: { dueOn: '2031-06-01' },
      quote: { client: 'M. Landing' },
    });
  });

  test('minutes, paint and money of the report are the sums of the single pieces', async () => {
    const pieces = await Promise.all(['cat-by-the-stove', '1-1', 'kept'].map((name) => opened(out, name)));
    const { rows, sums } = first.report;
    const done = rows.filter(({ status }: { status: string }) => status === 'done');
    expect(sums.pieces).toBe(4);
    expect(sums.paints).toEqual(materialsOf(pieces).paints);
    let [minutes, total] = [0, 0];
    for (const [i, piece] of pieces.entries()) {
      const record = JSON.parse(await readFile(join(out, done[i].folder, 'row.json'), 'utf8'));
      const seconds = record.foretold.passSeconds.reduce((sum: number, one: number) => sum + one, 0);
      const sum = sumQuote(piece, piece.quote.options[0], seconds);
      expect(done[i].total).toBe(sum.total);
      expect(done[i].paintMl).toBeCloseTo(
        paintOf(piece).reduce((ml, paint) => ml + paint.ml, 0),
        2,
      );
      minutes += (piece.order.quantity * seconds) / 60;
      total += piece.order.quantity * sum.total;
    }
    expect(sums.burnMinutes).toBeCloseTo(minutes, 9);
    expect(sums.total.EUR).toBeCloseTo(total, 9);
  });

  test('run again it computes only what has changed, and what was taken away', async () => {
    const record = (name: string) => stat(join(out, name, 'row.json')).then(({ ino, mtimeMs }) => `${ino} ${mtimeMs}`);
    const names = ['cat-by-the-stove', '1-1', 'kept'];
    const before = await Promise.all(names.map(record));
    const statusOf = ({ report }: typeof first) =>
      Object.fromEntries(report.rows.map((row: { row: number; status: string }) => [row.row, row.status]));
    expect(statusOf(await batch(out))).toMatchObject({ 2: 'kept', 4: 'kept', 7: 'kept' });
    expect(await Promise.all(names.map(record))).toEqual(before);
    // A line moved to another place changes nothing; another day does, and so does a photograph.
    const moved = [LIST[0], LIST[6], LIST[3], LIST[1].replace('05-02', '05-03')];
    await writeFile(folder.file('list.csv'), moved.join('\n'));
    await writeFile(folder.file('dog.jpg'), await flatPhoto(150));
    const pass = join(out, 'cat-by-the-stove', 'cat-by-the-stove-pass-1.gcode');
    await writeFile(pass, 'M2\n');
    expect(statusOf(await batch(out, '--jobs', '2'))).toEqual({ 2: 'kept', 3: 'done', 4: 'done' });
    expect((await stat(pass)).size).toBeGreaterThan(1000);
  });

  test('a folder’s photographs are a list without a list; only what was asked for is written', async () => {
    const photos = folder.file('photos');
    await mkdir(photos);
    await writeFile(join(photos, 'a.jpg'), await flatPhoto(180));
    await writeFile(join(photos, 'notes.txt'), 'no photograph');
    const into = folder.file('from-folder');
    const ran = await runCli(['batch', photos, '--piece', template, '--out', into, '--only', 'piece']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    expect((await readdir(into)).sort()).toEqual(['a', 'report.csv', 'report.json']);
    expect((await readdir(join(into, 'a'))).sort()).toEqual(['a.foreburn', 'row.json']);
  });
});

test.each([
  ['photo,width,colour\na.jpg,1,2', 'row 1: there is no column "colour"'],
  ['name\nCat', 'row 1: the column "photo" is missing'],
  ['photo,photo\na.jpg,b.jpg', 'row 1: the column "photo" is there twice'],
  ['photo\n\n', 'there is no row below its head'],
  ['photo,name\na.jpg,"Cat', 'row 2: a quotation mark is not closed'],
  [Buffer.from([0x70, 0xff, 0xfe]), 'this is not text in UTF-8'],
])('a list that is none: %j', async (text, says) => {
  const path = folder.file('wrong.csv');
  await writeFile(path, text);
  const ran = await runCli(['batch', path, '--out', folder.file('none')]);
  expect(ran.code).toBe(1);
  expect(ran.error).toContain(says);
});
