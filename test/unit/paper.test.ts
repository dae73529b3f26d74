import { describe, expect, test } from 'vitest';
import { benchSheet, paintNeeded } from '../../src/outputs/paper/bench-sheet.ts';
import type { Block, Paper } from '../../src/outputs/paper/paper.ts';
import { paperHtml } from '../../src/outputs/paper/paper-html.ts';
import { paperPdf } from '../../src/outputs/paper/paper-pdf.ts';
import { pieceCode, readPieceCode } from '../../src/outputs/paper/piece-code.ts';
import { QUOTE_WORDS, quotePaper, sumQuote } from '../../src/outputs/paper/quote-paper.ts';
import { DEFAULT_TOP_COAT } from '../../src/piece/defaults.ts';
import { createDemoPiece } from '../../src/piece/demo-piece.ts';
import type { Piece } from '../../src/piece/schema.ts';

const piece = createDemoPiece();
const photo = { width: 1800, height: 1440 };
const NOBODY = { name: '', mark: null };
const LADDER = [{ power: 0.2, words: 'only just shows' }];
const sheetOf = (one: Piece, ladder: typeof LADDER = LADDER): Paper =>
  benchSheet({
    piece: one,
    photo,
    times: one.passes.map(() => ({ timeS: 3840, rows: 2000, burnedMm: 1 })),
    proofUrl: null,
    maker: NOBODY,
    predicted: ['4.1 % of the light areas will keep dark residue.'],
    ladder,
    code: 'ABCD-EFGH',
    codeSvg: '<svg viewBox="0 0 1 1"></svg>',
  });
const textsOf = (blocks: readonly Block[]): string[] =>
  blocks.flatMap((block): string[] => {
    if (block.kind === 'columns') return block.columns.flatMap(textsOf);
    if (block.kind === 'ticks') return [...block.items];
    if (block.kind === 'table') return block.rows.map((row) => row.join(' | '));
    if (block.kind === 'facts') return block.facts.map((fact) => fact.join(': '));
    return 'text' in block ? [block.text] : [];
  });

describe('paint for a coat', () => {
  test('is that of the printed spreading rate', () => {
    // Data sheet of a water-based acrylic eggshell as quoted in test/reference/paint-build.test.ts: 33 % solids at 25 µm cover 13.2 m²/L.
    const coat = { ...DEFAULT_TOP_COAT, volumeSolids: 0.33, dryThicknessUm: 25, layers: 2, thinnerShare: 0 };
    const slab = { ...piece.slab, shape: 'rectangle' as const, widthMm: 1000, heightMm: 1320 };
    const { paintMl, wetLayerUm } = paintNeeded(coat, slab, 0);
    expect(paintMl).toBeCloseTo(100, 6);
    expect(wetLayerUm).toBeCloseTo(12.5 / 0.33, 9);
    expect(paintNeeded(coat, slab, 0.5).paintMl).toBeCloseTo(200, 6);
  });
});

describe('bench sheet', () => {
  test('leaves room to a long text and not to the labels of rows', () => {
    const table = sheetOf(piece).blocks.find((block) => block.kind === 'table' && block.head.includes('Screen'));
    const [made] = paperPdf({ ...sheetOf(piece), blocks: [table!] }).content.slice(-1) as [
      { readonly table: { readonly widths: readonly string[] } },
    ];
    expect(made.table.widths[0]).toBe('auto');
    expect(made.table.widths.filter((width) => width === '*')).toHaveLength(1);
  });

  test('names every coat from the wood up and every pass with its time', () => {
    const texts = textsOf(sheetOf(piece).blocks);
    const coats = piece.stack.coats.map(({ name }) => texts.findIndex((text) => text.startsWith(name)));
    expect(coats.every((at) => at >= 0)).toBe(true);
    expect(coats[0]).toBeGreaterThan(coats[1]);
    expect(texts.some((text) => text.startsWith('Pass\u00a01 |') && text.endsWith('1 h 04 min'))).toBe(true);
    const screened = texts.find((text) => text.startsWith('Pass\u00a01 |'));
    expect(piece.passes[0].screen).toBe('stucki');
    expect(screened).toContain('| Crisp |');
  });

  test('nothing is said to be tried where there is nothing to try', () => {
    const tries = (ladder: typeof LADDER) =>
      textsOf(sheetOf(piece, ladder).blocks).filter((text) => text.startsWith('Try the powers below')).length;
    expect([tries(LADDER), tries([])]).toEqual([1, 0]);
  });

  test('cautions before any beam', () => {
    const texts = textsOf(sheetOf(piece).blocks);
    const at = (begins: string) => texts.findIndex((text) => text.startsWith(begins));
    expect(at('Extraction on')).toBeGreaterThan(0);
    for (const beam of ['Perimeter walk', 'Try the powers', 'Burn pass 1'])
      expect(at(beam)).toBeGreaterThan(at('Extraction on'));
  });

  test('leaves out what a bare slab does not need', () => {
    const texts = textsOf(sheetOf({ ...piece, stack: { ...piece.stack, coats: [] } }).blocks).join('\n');
    expect(texts).not.toMatch(/tape|cure/i);
    expect(texts).toContain('the wood stays bare');
  });

  test('a name is text, never markup', () => {
    const html = paperHtml(sheetOf({ ...piece, name: '<script>alert("1")</script> & co' }), '');
    expect(html).not.toContain('<script');
    expect(html).toContain('&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; co');
    expect(html).not.toMatch(/(src|href)="https?:/);
  });

  test('becomes a PDF definition with each of its blocks', () => {
    const paper = sheetOf(piece);
    const text = JSON.stringify(paperPdf(paper).content);
    for (const one of textsOf(paper.blocks).filter((line) => !line.includes(' | ') && !line.includes(': '))) {
      // A number and its percent sign stay on one line.
      expect(text).toContain(
        JSON.stringify(one)
          .slice(1, -1)
          .replace(/(\d) %/g, '$1\u00a0%'),
      );
    }
  });
});

describe('codes', () => {
  test('FNV-1a of known texts', () => {
    // 64-bit FNV-1a of "a" is af63dc4c8601ec8c (published test vectors of Fowler, Noll and Vo); folded to 40 bits by hand.
    const hash = 0xaf63dc4c8601ec8cn;
    const folded = (hash ^ (hash >> 24n)) & 0xffffffffffn;
    const digits = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
    const code = Array.from({ length: 8 }, (_, i) => digits[Number((folded >> BigInt(35 - 5 * i)) & 31n)]).join('');
    expect(pieceCode('a')).toBe(`${code.slice(0, 4)}-${code.slice(4)}`);
  });

  test('are read as people type them', () => {
    const code = pieceCode(JSON.stringify(piece));
    expect(readPieceCode(` ${code.toLowerCase().replace('-', ' ')} `)).toBe(code);
    expect(readPieceCode('oil0-1111')).toBe('0110-1111');
    expect(readPieceCode('ABC-DEFG')).toBeNull();
    expect(readPieceCode('ABCU-DEFG')).toBeNull();
  });
});

describe('quote', () => {
  const priced = (part: Partial<Piece['quote']>): Piece => ({
    ...piece,
    stack: { ...piece.stack, coats: [] },
    quote: { ...piece.quote, ...part },
  });
  const option = { name: 'Small', pictureWidthMm: 200, passes: 1, slabCost: 18, handworkMinutes: 90 };

  test('adds up as by hand', () => {
    // 75 min at 20 = 25.00, 90 min at 36 = 54.00, slab 18.00, extra 2.50: 99.50; 25 % = 24.875 → 24.88; 124.38; 19 % = 23.6322 → 23.63.
    const one = priced({ machinePerHour: 20, handworkPerHour: 36, extraCost: 2.5, margin: 0.25, tax: 0.19 });
    const sum = sumQuote(one, option, 75 * 60);
    expect(sum).toMatchObject({ machine: 25, handwork: 54, slab: 18, extra: 2.5, paint: 0, margin: 24.88 });
    expect(sum).toMatchObject({ net: 124.38, tax: 23.63, total: 148.01 });
  });

  test('a currency without small coins has whole numbers', () => {
    const sum = sumQuote(priced({ currency: 'JPY', machinePerHour: 1999.5, margin: 0.333 }), option, 3600);
    for (const value of [sum.machine, sum.margin, sum.net, sum.tax, sum.total])
      expect(Number.isInteger(value)).toBe(true);
  });

  test('what is printed adds up, whatever the numbers', () => {
    for (let i = 1; i < 200; i++) {
      const one = priced({ machinePerHour: i / 7, margin: i / 331, tax: (i % 25) / 100, extraCost: i / 3 });
      const { machine, paint, slab, handwork, extra, margin, net, tax, total } = sumQuote(one, option, 61 * i);
      expect(net).toBeCloseTo(machine + paint + slab + handwork + extra + margin, 9);
      expect(total).toBeCloseTo(net + tax, 9);
      expect(Math.round(total * 100) / 100).toBe(total);
    }
  });

  test('the client sees prices and dates of their own language, and none of the maker’s costs', () => {
    const one = priced({ language: 'de', client: 'Frau Muster', tax: 0.19, options: [option], validDays: 30 });
    const sums = [sumQuote(one, option, 3600)];
    const today = Date.UTC(2031, 4, 2, 12);
    const html = paperHtml(quotePaper({ piece: one, photo, sums, pictureUrl: null, maker: NOBODY, today }), '');
    expect(html).toContain('Angebot');
    expect(html).toContain('1. Juni 2031');
    expect(html).toContain(sums[0].total.toFixed(2).replace('.', ','));
    expect(html).not.toContain(sums[0].margin.toFixed(2).replace('.', ','));
    expect(html).not.toContain('>18,00');
  });

  test('says the lettering, and the picture’s size as it lies: cut and turned', () => {
    const lettered = priced({ options: [{ ...option, pictureWidthMm: null }] });
    const picture = {
      ...lettered.picture,
      widthMm: 200,
      rotationRad: Math.PI / 2,
      cut: { xMiddle: 0.5, yMiddle: 0.4, width: 0.5, height: 0.2, turnRad: 0 },
      lettering: [
        { kind: 'border' as const, follows: 'rim' as const, distanceMm: 4, lineMm: 1, tone: 1 },
        {
          kind: 'text' as const,
          text: 'Hollin Reach',
          font: 'fraunces' as const,
          letters: [],
          capEm: 0.7,
          capMm: 8,
          spacing: 0,
          tone: 1,
          place: { along: 'rim' as const, rimMm: 8, aroundRad: 0 },
        },
      ],
    };
    const one = { ...lettered, picture };
    const texts = textsOf(
      quotePaper({ piece: one, photo, sums: [sumQuote(one, option, 60)], pictureUrl: null, maker: NOBODY, today: 0 })
        .blocks,
    );
    expect(texts).toContain('Lettering: Hollin Reach');
    expect(texts).toContain('Picture | 80 × 200 mm');
  });

  test('every language has every word', () => {
    const keys = Object.keys(QUOTE_WORDS.en).sort();
    for (const words of Object.values(QUOTE_WORDS)) {
      expect(Object.keys(words).sort()).toEqual(keys);
      expect(words.made('lime', 'Peat')).toContain('lime');
      expect(words.bare('lime')).toContain('lime');
    }
  });
});
