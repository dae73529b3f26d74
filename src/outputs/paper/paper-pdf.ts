import { letterRange } from '../../base/letter-ranges.ts';
import { MARK_MM, type Maker } from '../../base/maker.ts';
import type { Block, Paper } from './paper.ts';
import { keepTogether } from './paper.ts';

/** A paper as a document definition of pdfmake: plain data. A4 portrait, lengths in points. */
export function paperPdf(paper: Paper): PdfDefinition {
  return {
    info: { title: paper.title, subject: paper.subtitle, creator: 'Foreburn' },
    pageSize: 'A4',
    pageMargins: [MARGIN_PT, 40, MARGIN_PT, 46],
    language: paper.language,
    defaultStyle: { font: 'Public Sans latin', fontSize: 9, lineHeight: 1.18, color: INK },
    content: [
      {
        columns: [
          {
            width: '*',
            stack: [
              { ...headed(paper.title), fontSize: 19, lineHeight: 1.05 },
              { text: printable(paper.subtitle), color: QUIET, margin: [0, 2, 0, 0] },
            ],
          },
          ...makerPart(paper.maker),
        ],
        columnGap: GAP_PT,
        margin: [0, 0, 0, 5],
      },
      rule(ACCENT, 0.8),
      ...parts(paper.blocks, CONTENT_PT),
    ],
    footer: (page, pages) => ({
      columns: [
        { text: printable(paper.foot), fontSize: 8, color: QUIET },
        { text: `${page} / ${pages}`, fontSize: 8, color: QUIET, alignment: 'right', width: 50 },
      ],
      margin: [MARGIN_PT, 14, MARGIN_PT, 0],
    }),
  };
}

export interface PdfDefinition {
  readonly info: { readonly title: string; readonly subject: string; readonly creator: string };
  readonly pageSize: 'A4';
  readonly pageMargins: [number, number, number, number];
  readonly language: string;
  readonly defaultStyle: PdfPart;
  readonly content: readonly PdfPart[];
  readonly footer: (page: number, pages: number) => PdfPart;
}
type PdfPart = Readonly<Record<string, unknown>>;

const INK = '#2a2622';
const QUIET = '#6b625a';
const ACCENT = '#8a5a33';
const LINE = '#d3cbc1';
const MARGIN_PT = 44;
/** A4 is 595 pt wide. */
const CONTENT_PT = 595 - 2 * MARGIN_PT;
const PT_PER_MM = 72 / 25.4;
const GAP_PT = 18;
/** Room for the maker's mark and name. */
const MAKER_PT = 150;

const rule = (color: string, width: number): PdfPart => ({
  canvas: [{ type: 'line', x1: 0, y1: 0, x2: CONTENT_PT, y2: 0, lineWidth: width, lineColor: color }],
  margin: [0, 0, 0, 8],
});
/** Control characters have no glyph. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are just what is looked for
const plain = (text: string): string => keepTogether(text.replace(/[\u0000-\u0009\u000b-\u001f]/g, ' '));

type Run = { readonly text: string; readonly font: string };

/** A text in a family of the product's own type. What no cut of it holds is set in Roboto, which knows Greek and Cyrillic too. */
function printable(text: string, family = 'Public Sans'): string | Run[] {
  const runs: Run[] = [];
  for (const sign of plain(text)) {
    const range = letterRange(sign);
    const font = range ? `${family} ${range}` : 'Roboto';
    const last = runs.at(-1);
    if (last?.font === font) runs[runs.length - 1] = { text: last.text + sign, font };
    else runs.push({ text: sign, font });
  }
  return runs.every(({ font }) => font === 'Public Sans latin') ? plain(text) : runs;
}

const headed = (text: string): PdfPart => ({ text: printable(text, 'Fraunces') });

/** Opposite the title: the mark, and the name under it. */
function makerPart({ name, mark }: Maker): PdfPart[] {
  if (!name && !mark) return [];
  const fit = [MARK_MM.width * PT_PER_MM, MARK_MM.height * PT_PER_MM];
  const stack = [
    ...(mark ? [{ image: mark, fit, alignment: 'right' }] : []),
    ...(name ? [{ text: printable(name), fontSize: 8, color: QUIET, alignment: 'right', margin: [0, 2, 0, 0] }] : []),
  ];
  return [{ width: MAKER_PT, stack }];
}

/** A heading stays on one page with what it is over. */
function parts(blocks: readonly Block[], widthPt: number): PdfPart[] {
  const out: PdfPart[] = [];
  let over: PdfPart[] = [];
  for (const block of blocks) {
    const one = part(block, widthPt);
    if (block.kind === 'heading') over.push(one);
    else {
      out.push(over.length > 0 ? { stack: [...over, one], unbreakable: true } : one);
      over = [];
    }
  }
  return [...out, ...over];
}

function part(block: Block, widthPt: number): PdfPart {
  const small = { fontSize: 8, color: QUIET };
  const wide = (widthMm: number) => Math.min(widthPt, widthMm * PT_PER_MM);
  const figure = (what: PdfPart, caption: string): PdfPart => ({
    stack: [what, { text: printable(caption), ...small, margin: [0, 2, 0, 0] }],
    margin: [0, 0, 0, 8],
    unbreakable: true,
  });
  switch (block.kind) {
    case 'heading':
      return { ...headed(block.text), fontSize: 11.5, margin: [0, 8, 0, 3] };
    case 'text': {
      const text = { text: printable(block.text), margin: [0, 0, 0, 5] };
      if (block.tone === 'quiet') return { ...text, ...small };
      return block.tone === 'warning' ? { ...text, bold: true } : text;
    }
    case 'facts':
      return lines(
        block.facts.map(([label, value]) => [
          { text: printable(label), color: QUIET },
          { text: printable(value), alignment: 'right' },
        ]),
        ['auto', '*'],
        0,
      );
    case 'table': {
      const cell = (text: string, i: number): PdfPart => ({
        text: printable(text),
        alignment: block.numeric?.[i] ? 'right' : 'left',
        noWrap: block.numeric?.[i] ?? false,
      });
      const head = block.head.map((text, i) => ({ ...cell(text, i), ...small, bold: true }));
      const rows = block.rows.map((row, r) =>
        row.map((text, i) => ({ ...cell(text, i), bold: block.strong?.includes(r) ?? false })),
      );
      return lines(
        [head, ...rows],
        block.head.map((_, i) => (i === roomiest(block) ? '*' : 'auto')),
        1,
      );
    }
    case 'steps':
      return { ol: block.steps.map((step) => ({ text: printable(step) })), margin: [0, 0, 0, 5] };
    case 'bullets':
      return { ul: block.items.map((item) => ({ text: printable(item) })), margin: [0, 0, 0, 5] };
    case 'ticks':
      return {
        stack: block.items.map((item) => ({
          columns: [
            { canvas: [{ type: 'rect', x: 0, y: 1.5, w: 8, h: 8, r: 1, lineWidth: 0.7, lineColor: QUIET }], width: 15 },
            { text: printable(item) },
          ],
          margin: [0, 0, 0, 2.5],
        })),
        margin: [0, 0, 0, 5],
      };
    case 'picture':
      return figure({ image: block.url, fit: [wide(block.widthMm), block.heightMm * PT_PER_MM] }, block.caption);
    case 'drawing':
      return figure({ svg: block.svg, width: wide(block.widthMm) }, block.caption);
    case 'lines':
      return {
        stack: [
          { text: printable(block.label), color: QUIET },
          ...Array.from({ length: block.count }, () => ({
            canvas: [{ type: 'line', x1: 0, y1: 20, x2: widthPt, y2: 20, lineWidth: 0.5, lineColor: QUIET }],
          })),
        ],
        unbreakable: true,
      };
    case 'columns': {
      const count = block.columns.length;
      const each = (widthPt - GAP_PT * (count - 1)) / count;
      return {
        columns: block.columns.map((blocks) => ({ width: each, stack: parts(blocks, each) })),
        columnGap: GAP_PT,
      };
    }
    case 'page-break':
      return { text: '', pageBreak: 'after' };
  }
}

/** The column that gets what room is left: the first, unless it holds no more than labels; then the one with the longest texts. */
function roomiest({ head, rows, numeric }: Extract<Block, { kind: 'table' }>): number {
  if (head[0] !== '') return 0;
  const longest = head.map((_, i) => (numeric?.[i] ? 0 : Math.max(0, ...rows.map((row) => row[i].length))));
  return longest.indexOf(Math.max(...longest));
}

/** A table with nothing but thin lines between its rows. */
function lines(body: readonly (readonly PdfPart[])[], widths: readonly string[], headerRows: number): PdfPart {
  return {
    table: { body, widths, headerRows, keepWithHeaderRows: headerRows, dontBreakRows: true },
    layout: {
      hLineWidth: (i: number) => (i === 0 ? 0 : i === headerRows && headerRows > 0 ? 0.8 : 0.4),
      vLineWidth: () => 0,
      hLineColor: () => LINE,
      paddingLeft: (i: number) => (i === 0 ? 0 : 4),
      paddingRight: () => 4,
      paddingTop: () => 2,
      paddingBottom: () => 2,
    },
    margin: [0, 0, 0, 7],
  };
}
