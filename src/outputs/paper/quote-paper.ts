import type { Piece } from '../../piece/schema.ts';
import type { Block, Paper } from './paper.ts';
import { pieceOfOption } from './quote-option.ts';
import type { QuoteSum } from './quote-sum.ts';
import { QUOTE_WORDS } from './quote-words.ts';

export interface QuotePaperInput {
  readonly piece: Piece;
  readonly photo: { readonly width: number; readonly height: number };
  /** One per option of the piece's quote. */
  readonly sums: readonly QuoteSum[];
  /** The mock-up or the proof, as a data URL; null where none is at hand. */
  readonly pictureUrl: string | null;
  /** Day of the quote, ms since 1970 as `Date` has it. */
  readonly today: number;
  /** How numbers, dates and money are written: a BCP 47 tag; the quote's language where left out. */
  readonly locale?: string;
}

const DAY_MS = 86_400_000;

/** What the client gets: the options side by side, without the maker's own costs. */
export function quotePaper(input: QuotePaperInput): Paper {
  const { piece, sums, pictureUrl, today } = input;
  const { quote, slab, stack } = piece;
  const words = QUOTE_WORDS[quote.language];
  const locale = input.locale ?? quote.language;
  const money = (value: number) =>
    new Intl.NumberFormat(locale, { style: 'currency', currency: quote.currency }).format(value);
  const day = (ms: number) => new Intl.DateTimeFormat(locale, { dateStyle: 'long' }).format(ms);
  const size = (widthMm: number, heightMm: number) =>
    `${new Intl.NumberFormat(locale, { maximumFractionDigits: 0 }).format(widthMm)} × ${new Intl.NumberFormat(locale, { maximumFractionDigits: 0 }).format(heightMm)} mm`;
  const tallness = input.photo.height / input.photo.width;
  const wood = slab.wood.name.toLowerCase();
  const coats = stack.coats.map(({ name }) => name).join(' / ');
  const picture: Block[] = pictureUrl ? [{ kind: 'picture', url: pictureUrl, widthMm: 180, caption: words.shown }] : [];
  const facts: [string, string][] = [
    ...(quote.client ? [[words.for, quote.client] as [string, string]] : []),
    [words.date, day(today)],
    [words.validUntil, day(today + quote.validDays * DAY_MS)],
  ];
  const line = (label: string, text: (i: number) => string) => [label, ...quote.options.map((_, i) => text(i))];
  const tax = new Intl.NumberFormat(locale, { style: 'percent', maximumFractionDigits: 2 }).format(quote.tax);
  const offered = quote.options.map((option) => pieceOfOption(piece, option));
  const rows = [
    line(words.size, () => size(slab.widthMm, slab.heightMm)),
    line(words.picture, (i) => {
      const { widthMm } = offered[i].picture;
      return size(widthMm, widthMm * tallness);
    }),
    line(words.passes, (i) => String(offered[i].passes.length)),
    line(words.net, (i) => money(sums[i].net)),
    line(`${words.tax} (${tax})`, (i) => money(sums[i].tax)),
    line(words.total, (i) => money(sums[i].total)),
  ];
  return {
    title: piece.name || words.quote,
    subtitle: [words.quote, quote.workshop].filter(Boolean).join(' · '),
    language: quote.language,
    foot: [quote.workshop, `${words.validUntil} ${day(today + quote.validDays * DAY_MS)}`].filter(Boolean).join(' · '),
    blocks: [
      ...picture,
      { kind: 'facts', facts },
      { kind: 'heading', text: words.about },
      { kind: 'text', text: coats ? words.made(wood, coats) : words.bare(wood) },
      ...(quote.note ? [{ kind: 'text', text: quote.note } as const] : []),
      {
        kind: 'table',
        head: [words.option, ...quote.options.map(({ name }) => name)],
        rows,
        numeric: [false, ...quote.options.map(() => true)],
        strong: [rows.length - 1],
      },
      { kind: 'text', text: words.varies, tone: 'quiet' },
    ],
  };
}
