import type { Maker } from '../base/maker.ts';
import type { Paper } from '../outputs/paper/paper.ts';
import { QUOTE_WORDS, type QuoteSum, sumQuote } from '../outputs/paper/quote-paper.ts';
import type { Piece, QuoteLanguage } from '../piece/schema.ts';
import { paintOf } from './materials.ts';

/** What a slab may be finished with: coats, machine, passes and rates are those of a piece. */
export interface Finish {
  readonly name: string;
  readonly piece: Piece;
}

/** `slabCost`: null to take that of the finish's own slab by area. */
export interface PriceSize {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly slabCost: number | null;
}

export interface PriceRow {
  readonly finish: string;
  readonly size: PriceSize;
  readonly pictureWidthMm: number;
  readonly paintMl: number;
  /** As the quote of that piece adds it up. */
  readonly sum: QuoteSum;
}

/** The finish's piece on a slab of another size: outline and picture grow with it, flaws stay behind with the slab that had them. */
export function sizedPiece({ piece }: Finish, { widthMm, heightMm, slabCost }: PriceSize): Piece {
  const { slab, picture, quote } = piece;
  const [across, down] = [widthMm / slab.widthMm, heightMm / slab.heightMm];
  const by = Math.min(across, down);
  const [option] = quote.options;
  const own = across === 1 && down === 1;
  return {
    ...piece,
    slab: {
      ...slab,
      widthMm,
      heightMm,
      outlineMm: slab.outlineMm.map(([x, y]): [number, number] => [x * across, y * down]),
      ...(!own && { knots: [], checks: [], photo: null }),
    },
    picture: {
      ...picture,
      widthMm: picture.widthMm * by,
      offsetXMm: picture.offsetXMm * by,
      offsetYMm: picture.offsetYMm * by,
    },
    quote: {
      ...quote,
      options: [
        { ...option, pictureWidthMm: null, passes: null, slabCost: slabCost ?? option.slabCost * across * down },
      ],
    },
  };
}

/** @param burnSeconds of the sized piece, all passes together */
export function priceRow(finish: Finish, size: PriceSize, burnSeconds: number): PriceRow {
  const piece = sizedPiece(finish, size);
  return {
    finish: finish.name,
    size,
    pictureWidthMm: piece.picture.widthMm,
    paintMl: paintOf(piece).reduce((sum, { ml }) => sum + ml, 0),
    sum: sumQuote(piece, piece.quote.options[0], burnSeconds),
  };
}

const PRICES: Readonly<Record<QuoteLanguage, string>> = {
  en: 'Prices',
  de: 'Preise',
  fr: 'Prix',
  es: 'Precios',
  it: 'Prezzi',
  nl: 'Prijzen',
};

interface PricePaperInput {
  readonly rows: readonly PriceRow[];
  /** Terms and language are those of the first finish's quote. */
  readonly piece: Piece;
  readonly maker: Maker;
  /** With minutes, paint and what each costs, for the maker; in English. */
  readonly costs: boolean;
  readonly locale?: string;
}

/** Sizes down, finishes across. */
export function pricePaper({ rows, piece, maker, costs, locale = piece.quote.language }: PricePaperInput): Paper {
  const { quote } = piece;
  const words = QUOTE_WORDS[quote.language];
  const money = (value: number) =>
    new Intl.NumberFormat(locale, { style: 'currency', currency: quote.currency }).format(value);
  const whole = (value: number) => new Intl.NumberFormat(locale, { maximumFractionDigits: 0 }).format(value);
  const sizeWords = ({ widthMm, heightMm }: PriceSize) => `${whole(widthMm)} × ${whole(heightMm)} mm`;
  const finishes = [...new Set(rows.map(({ finish }) => finish))];
  const sizes = [...new Set(rows.map(({ size }) => size))];
  const of = (size: PriceSize, finish: string) => rows.find((row) => row.size === size && row.finish === finish)!;
  const tax = new Intl.NumberFormat(locale, { style: 'percent', maximumFractionDigits: 2 }).format(quote.tax);
  return {
    title: PRICES[quote.language],
    maker,
    subtitle: maker.name,
    language: quote.language,
    foot: [maker.name, PRICES[quote.language]].filter(Boolean).join(' · '),
    blocks: [
      {
        kind: 'table',
        head: [words.size, ...finishes],
        rows: sizes.map((size) => [sizeWords(size), ...finishes.map((finish) => money(of(size, finish).sum.total))]),
        numeric: [false, ...finishes.map(() => true)],
      },
      { kind: 'text', text: `${words.total} = ${words.net} + ${tax} ${words.tax}`, tone: 'quiet' },
      ...(costs
        ? finishes.flatMap((finish): Paper['blocks'] => [
            { kind: 'heading', text: finish },
            {
              kind: 'table',
              head: [
                'Slab',
                'Picture',
                'Burn',
                'Paint used',
                'Machine',
                'Paint',
                'Wood',
                'Handwork',
                'Other',
                'Margin',
                'Net',
                'Total',
              ],
              rows: sizes.map((size) => {
                const { sum, pictureWidthMm, paintMl } = of(size, finish);
                return [
                  sizeWords(size),
                  `${whole(pictureWidthMm)} mm`,
                  `${whole(sum.machineMinutes)} min`,
                  `${Math.ceil(paintMl)} mL`,
                  ...[sum.machine, sum.paint, sum.slab, sum.handwork, sum.extra, sum.margin, sum.net, sum.total].map(
                    money,
                  ),
                ];
              }),
              numeric: [false, ...Array<boolean>(11).fill(true)],
            },
          ])
        : []),
    ],
  };
}
