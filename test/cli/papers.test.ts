import { readFile } from 'node:fs/promises';
import sharp from 'sharp';
import { extractText, getDocumentProxy } from 'unpdf';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { paperBytes } from '../../src/cli/paper-bytes.ts';
import type { Paper } from '../../src/outputs/paper/paper.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let piece: string;

beforeAll(async () => {
  folder = await temporaryFolder();
  piece = folder.file('small.foreburn');
  expect((await runCli(['demo', '--width-px', '120', '--out', piece])).code).toBe(0);
});
afterAll(() => folder.remove());

/** Text of a PDF as Mozilla's reader finds it. */
async function pdfText(path: string): Promise<string> {
  const document = await getDocumentProxy(new Uint8Array(await readFile(path)));
  return (await extractText(document, { mergePages: true })).text;
}

/** A sheet that is full but for some lines, then a heading with a table. */
async function pagesWithTable(lines: number): Promise<string[]> {
  const paper: Paper = {
    title: 'Sheet',
    subtitle: 'to be printed',
    language: 'en',
    foot: 'Foot',
    maker: { name: '', mark: null },
    blocks: [
      { kind: 'text', text: Array.from({ length: lines }, (_, i) => `Line ${i}`).join('\n') },
      { kind: 'heading', text: 'Passes' },
      { kind: 'table', head: ['', 'Feed'], rows: [['First row', '100 mm/min']] },
    ],
  };
  const document = await getDocumentProxy(new Uint8Array(Buffer.from(await paperBytes('sheet.pdf', paper))));
  return (await extractText(document, { mergePages: false })).text;
}

const SMALL = ['--width-mm', '24', '--row-pitch', '0.2'];

test('a heading stays with its table, and the table’s head with its first row', async () => {
  let broken = 0;
  for (let lines = 50; lines < 70; lines++) {
    const pages = await pagesWithTable(lines);
    const at = (words: string) => pages.findIndex((text) => text.includes(words));
    expect([at('Passes'), at('Feed')], `${lines} lines`).toEqual([at('First row'), at('First row')]);
    if (at('Passes') > 0) broken++;
  }
  expect(broken).toBeGreaterThan(0);
});

describe('sheet', () => {
  test('a PDF with settings, order of work, powers to try and cautions', async () => {
    const out = folder.file('sheet.pdf');
    const lettered = ['--text', 'Hollin Reach; rim=14', '--border', 'rim=8; line=1.5'];
    const argv = [
      'sheet',
      '--piece',
      piece,
      ...SMALL,
      ...lettered,
      '--light-end',
      '62',
      '--workshop',
      'Reach Workshop',
    ];
    const ran = await runCli([...argv, '--out', out, '--json']);
    expect(ran.error).toBe('');
    const report = JSON.parse(ran.out);
    expect(report.passes[0].timeS).toBeGreaterThan(0);
    const text = await pdfText(out);
    expect(text).toContain(report.code);
    expect(text).toMatch(/Hollin Reach\s+8 mm high, along the rim/);
    expect((await getDocumentProxy(new Uint8Array(await readFile(out)))).numPages).toBe(2);
    expect(text).toContain('62 %');
    expect(text).toMatch(/Never leave a burn alone/);
    const powers = [...text.matchAll(/(\d+) %\s+(nothing|only just|opens|clears)/g)].map((match) => Number(match[1]));
    expect(powers.length).toBeGreaterThanOrEqual(4);
    expect(powers).toEqual(powers.toSorted((a, b) => a - b));
  });

  test('an ending that is no paper, before anything is computed', async () => {
    const ran = await runCli(['sheet', '--piece', piece, '--out', folder.file('sheet.docx')]);
    expect(ran).toMatchObject({ code: 2, out: '' });
    expect(ran.error).toContain('.html or .pdf');
  });

  test('a place that cannot be written leaves nothing behind', async () => {
    const out = folder.file('nowhere/sheet.html');
    const ran = await runCli(['sheet', '--piece', piece, ...SMALL, '--out', out]);
    expect(ran.code).toBe(1);
    expect(ran.error).toContain('nowhere');
    expect(ran.error).toContain('there is no such folder');
  });
});

describe('quote', () => {
  test('in the client’s language with the day that was asked for', async () => {
    const out = folder.file('quote.html');
    const argv = [
      'quote',
      '--piece',
      piece,
      ...SMALL,
      '--language',
      'fr',
      '--currency',
      'CHF',
      '--client',
      'M. <b>Essai</b>',
    ];
    const ran = await runCli([...argv, '--date', '2031-05-02', '--out', out, '--json']);
    expect(ran.error).toBe('');
    const { options } = JSON.parse(ran.out);
    const html = await readFile(out, 'utf8');
    expect(html).toContain('2 mai 2031');
    expect(html).toContain('1 juin 2031');
    expect(html).toContain('M. &lt;b&gt;Essai&lt;/b&gt;');
    const [whole] = options[0].total.toFixed(2).split('.');
    expect(html).toMatch(new RegExp(`${whole},\\d\\d\\s?CHF`));
    expect(options[0].net + options[0].tax).toBeCloseTo(options[0].total, 6);
  });

  test('is for the time that the piece itself takes, with all its passes and its lettering', async () => {
    const plain = ['--piece', piece, '--width-mm', '33', '--pass', 'light=60', '--pass', 'light=20,dark=0'];
    const argv = [...plain, '--text', 'Hollin Reach; caps=8; y=30'];
    const quote = (one: string[]) => runCli(['quote', ...one, '--out', folder.file('own.html'), '--json']);
    const bare = await quote(plain);
    const quoted = await quote(argv);
    expect(quoted.error).toBe('');
    const minutes = (ran: typeof quoted) => JSON.parse(ran.out).options[0].machineMinutes;
    expect(minutes(quoted)).toBeGreaterThan(minutes(bare));
    const proved = await runCli(['proof', ...argv, '--tries', '0', '--out', folder.file('own'), '--json']);
    const { burnTimeS } = JSON.parse(proved.out);
    expect(JSON.parse(quoted.out).options[0].machineMinutes).toBeCloseTo(burnTimeS / 60, 6);
    expect(await readFile(folder.file('own.html'), 'utf8')).toMatch(/33 × \d+ mm/);
  });

  test('is one page, with the maker’s name and mark on it', async () => {
    const mark = folder.file('mark.png');
    await sharp({ create: { width: 900, height: 300, channels: 4, background: '#2b627980' } })
      .png()
      .toFile(mark);
    const out = folder.file('marked.pdf');
    const argv = ['quote', '--piece', piece, ...SMALL, '--workshop', 'Reach Workshop', '--mark', mark];
    expect((await runCli([...argv, '--out', out])).error).toBe('');
    const document = await getDocumentProxy(new Uint8Array(await readFile(out)));
    expect(document.numPages).toBe(1);
    // The proof, the mark and its transparency.
    expect((await readFile(out, 'latin1')).match(/\/Subtype \/Image/g)).toHaveLength(3);
    expect(await pdfText(out)).toContain('Reach Workshop');
    const broken = await runCli([...argv.slice(0, -1), piece, '--out', out]);
    expect(broken).toMatchObject({ code: 1, out: '' });
    expect(broken.error).toContain('small.foreburn');
  });

  test('wrong words are told', async () => {
    for (const [wrong, told] of [
      [['--currency', 'eur'], '--currency'],
      [['--language', 'xx'], '--language'],
      [['--date', '2.5.2031'], '--date'],
    ] as const) {
      const ran = await runCli(['quote', '--piece', piece, ...wrong]);
      expect([ran.code, ran.out]).toEqual([2, '']);
      expect(ran.error).toContain(told);
    }
  });
});
