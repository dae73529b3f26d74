import type { Maker } from '../../base/maker.ts';
import type { Photo, Preparation } from '../../burn/prepare.ts';
import { pictureFrame } from '../../piece/frame.ts';
import type { Piece, QuoteLanguage, QuoteOption, QuoteSettings } from '../../piece/schema.ts';
import { passSeconds } from '../../studies/rescue/propose.ts';
import { paintNeeded } from './bench-sheet.ts';
import { type Block, type Paper, PROOF_HEIGHT_MM, PROOF_MM } from './paper.ts';

interface QuotePaperInput {
  readonly piece: Piece;
  readonly photo: { readonly width: number; readonly height: number };
  /** One per option of the piece's quote. */
  readonly sums: readonly QuoteSum[];
  /** The mock-up or the proof, as a data URL; null where none is at hand. */
  readonly pictureUrl: string | null;
  readonly maker: Maker;
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
  const wood = slab.wood.name.toLowerCase();
  const coats = stack.coats.map(({ name }) => name).join(` ${words.over} `);
  const picture: Block[] = pictureUrl
    ? [
        {
          kind: 'picture',
          url: pictureUrl,
          widthMm: PROOF_MM.quote,
          heightMm: PROOF_HEIGHT_MM.quote,
          caption: words.shown,
        },
      ]
    : [];
  const lettering = piece.picture.lettering.flatMap((one) => (one.kind === 'text' && one.text ? [one.text] : []));
  const facts: [string, string][] = [
    ...(quote.client ? [[words.for, quote.client] as [string, string]] : []),
    ...(lettering.length > 0 ? [[words.lettering, lettering.join(' · ')] as [string, string]] : []),
    [words.date, day(today)],
    [words.validUntil, day(today + quote.validDays * DAY_MS)],
  ];
  const line = (label: string, text: (i: number) => string) => [label, ...quote.options.map((_, i) => text(i))];
  const tax = new Intl.NumberFormat(locale, { style: 'percent', maximumFractionDigits: 2 }).format(quote.tax);
  const offered = quote.options.map((option) => pieceOfOption(piece, option));
  const rows = [
    line(words.size, () => size(slab.widthMm, slab.heightMm)),
    line(words.picture, (i) => {
      const { widthMm, heightMm } = pictureFrame(offered[i].picture, input.photo);
      return size(widthMm, heightMm);
    }),
    line(words.passes, (i) => String(offered[i].passes.length)),
    line(words.net, (i) => money(sums[i].net)),
    line(`${words.tax} (${tax})`, (i) => money(sums[i].tax)),
    line(words.total, (i) => money(sums[i].total)),
  ];
  return {
    title: piece.name || words.quote,
    subtitle: words.quote,
    language: quote.language,
    foot: [input.maker.name, `${words.validUntil} ${day(today + quote.validDays * DAY_MS)}`]
      .filter(Boolean)
      .join(' · '),
    maker: input.maker,
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

/** What a quote says, in the client's language. */
interface QuoteWords {
  readonly quote: string;
  readonly for: string;
  readonly option: string;
  readonly size: string;
  readonly picture: string;
  readonly passes: string;
  readonly lettering: string;
  /** Between a coat and the one under it. */
  readonly over: string;
  readonly net: string;
  readonly tax: string;
  readonly total: string;
  readonly date: string;
  readonly validUntil: string;
  readonly about: string;
  /** Wood and coats are put in. */
  readonly made: (wood: string, coats: string) => string;
  readonly bare: (wood: string) => string;
  readonly shown: string;
  readonly varies: string;
}

export const QUOTE_WORDS: Readonly<Record<QuoteLanguage, QuoteWords>> = {
  en: {
    quote: 'Quote',
    for: 'For',
    option: 'Option',
    size: 'Slab',
    picture: 'Picture',
    passes: 'Passes',
    lettering: 'Lettering',
    over: 'over',
    net: 'Net',
    tax: 'Tax',
    total: 'Total',
    date: 'Date',
    validUntil: 'Valid until',
    about: 'What you get',
    made: (wood, coats) =>
      `Your photograph burned into a slab of ${wood}, painted ${coats}. Each slab is one of a kind.`,
    bare: (wood) => `Your photograph burned into a slab of ${wood}. Each slab is one of a kind.`,
    shown: 'How it is predicted to look.',
    varies:
      'Wood and paint vary from slab to slab: the finished piece can come out somewhat lighter or darker than shown.',
  },
  de: {
    quote: 'Angebot',
    for: 'Für',
    option: 'Ausführung',
    size: 'Scheibe',
    picture: 'Bild',
    passes: 'Durchgänge',
    lettering: 'Schrift',
    over: 'über',
    net: 'Netto',
    tax: 'Steuer',
    total: 'Gesamt',
    date: 'Datum',
    validUntil: 'Gültig bis',
    about: 'Was Sie bekommen',
    made: (wood, coats) =>
      `Ihr Foto, eingebrannt in eine Holzscheibe (${wood}), gestrichen mit ${coats}. Jede Scheibe ist ein Einzelstück.`,
    bare: (wood) => `Ihr Foto, eingebrannt in eine Holzscheibe (${wood}). Jede Scheibe ist ein Einzelstück.`,
    shown: 'So wird es voraussichtlich aussehen.',
    varies:
      'Holz und Farbe fallen von Scheibe zu Scheibe anders aus: Das fertige Stück kann etwas heller oder dunkler werden als gezeigt.',
  },
  fr: {
    quote: 'Devis',
    for: 'Pour',
    option: 'Version',
    size: 'Plateau',
    picture: 'Image',
    passes: 'Passages',
    lettering: 'Inscription',
    over: 'sur',
    net: 'Hors taxes',
    tax: 'Taxes',
    total: 'Total',
    date: 'Date',
    validUntil: 'Valable jusqu’au',
    about: 'Ce que vous recevez',
    made: (wood, coats) =>
      `Votre photographie brûlée dans un plateau de bois (${wood}), peint de ${coats}. Chaque plateau est unique.`,
    bare: (wood) => `Votre photographie brûlée dans un plateau de bois (${wood}). Chaque plateau est unique.`,
    shown: 'L’aspect prévu.',
    varies:
      'Le bois et la peinture varient d’un plateau à l’autre : la pièce finie peut être un peu plus claire ou plus foncée que l’image.',
  },
  es: {
    quote: 'Presupuesto',
    for: 'Para',
    option: 'Opción',
    size: 'Tabla',
    picture: 'Imagen',
    passes: 'Pasadas',
    lettering: 'Inscripción',
    over: 'sobre',
    net: 'Neto',
    tax: 'Impuestos',
    total: 'Total',
    date: 'Fecha',
    validUntil: 'Válido hasta',
    about: 'Lo que recibe',
    made: (wood, coats) =>
      `Su fotografía grabada a fuego en una rodaja de madera (${wood}), pintada con ${coats}. Cada pieza es única.`,
    bare: (wood) => `Su fotografía grabada a fuego en una rodaja de madera (${wood}). Cada pieza es única.`,
    shown: 'El aspecto previsto.',
    varies:
      'La madera y la pintura varían de una pieza a otra: el resultado puede ser algo más claro o más oscuro de lo que se muestra.',
  },
  it: {
    quote: 'Preventivo',
    for: 'Per',
    option: 'Versione',
    size: 'Tavola',
    picture: 'Immagine',
    passes: 'Passate',
    lettering: 'Scritta',
    over: 'su',
    net: 'Netto',
    tax: 'Imposte',
    total: 'Totale',
    date: 'Data',
    validUntil: 'Valido fino al',
    about: 'Che cosa riceve',
    made: (wood, coats) =>
      `La Sua fotografia impressa a fuoco in una tavola di legno (${wood}), dipinta con ${coats}. Ogni tavola è unica.`,
    bare: (wood) => `La Sua fotografia impressa a fuoco in una tavola di legno (${wood}). Ogni tavola è unica.`,
    shown: 'L’aspetto previsto.',
    varies:
      'Legno e vernice cambiano da una tavola all’altra: il pezzo finito può risultare un po’ più chiaro o più scuro di quanto mostrato.',
  },
  nl: {
    quote: 'Offerte',
    for: 'Voor',
    option: 'Uitvoering',
    size: 'Plak hout',
    picture: 'Afbeelding',
    passes: 'Gangen',
    lettering: 'Opschrift',
    over: 'over',
    net: 'Netto',
    tax: 'Belasting',
    total: 'Totaal',
    date: 'Datum',
    validUntil: 'Geldig tot',
    about: 'Wat u krijgt',
    made: (wood, coats) =>
      `Uw foto, ingebrand in een plak hout (${wood}), geschilderd met ${coats}. Elke plak is uniek.`,
    bare: (wood) => `Uw foto, ingebrand in een plak hout (${wood}). Elke plak is uniek.`,
    shown: 'Zo ziet het er naar verwachting uit.',
    varies:
      'Hout en verf verschillen van plak tot plak: het voltooide stuk kan iets lichter of donkerder uitvallen dan getoond.',
  },
};

/** What one option costs, in the currency's unit, every line rounded to its smallest coin, so that the lines add up as printed. */
export interface QuoteSum {
  readonly machineMinutes: number;
  readonly machine: number;
  readonly paint: number;
  readonly slab: number;
  readonly handwork: number;
  readonly extra: number;
  readonly margin: number;
  readonly net: number;
  readonly tax: number;
  readonly total: number;
}

/** Decimals of a currency's smallest coin, by ISO 4217. @throws RangeError for what is no currency code. */
export const coinDigits = (currency: string): number =>
  new Intl.NumberFormat('en', { style: 'currency', currency }).resolvedOptions().maximumFractionDigits ?? 2;

/** @param machineS time that the machine burns for this option, s. */
export function sumQuote(piece: Piece, option: QuoteOption, machineS: number): QuoteSum {
  const { quote } = piece;
  const round = roundTo(coinDigits(quote.currency));
  const machineMinutes = machineS / 60;
  const machine = round((machineMinutes / 60) * quote.machinePerHour);
  const paint = round(paintMl(piece, quote) * (quote.paintPerLitre / 1000));
  const slab = round(option.slabCost);
  const handwork = round((option.handworkMinutes / 60) * quote.handworkPerHour);
  const extra = round(quote.extraCost);
  const costs = machine + paint + slab + handwork + extra;
  const margin = round(costs * quote.margin);
  const net = round(costs + margin);
  const tax = round(net * quote.tax);
  return { machineMinutes, machine, paint, slab, handwork, extra, margin, net, tax, total: round(net + tax) };
}

const paintMl = ({ stack, slab }: Piece, { paintLoss }: QuoteSettings): number =>
  stack.coats.reduce((sum, coat) => sum + paintNeeded(coat, slab, paintLoss).paintMl, 0);

/** Half away from zero, safe from binary fractions such as 1.005. */
const roundTo =
  (digits: number) =>
  (value: number): number => {
    const scaled = value * 10 ** digits;
    return Math.round(scaled + Math.sign(scaled) * Math.abs(scaled) * 1e-12) / 10 ** digits;
  };

/** The piece as an option of its quote has it: the picture's size, the number of passes. */
function pieceOfOption(piece: Piece, { pictureWidthMm, passes }: QuoteOption): Piece {
  return {
    ...piece,
    picture: { ...piece.picture, widthMm: pictureWidthMm ?? piece.picture.widthMm },
    passes: piece.passes.slice(0, passes ?? piece.passes.length),
  };
}

/** How long the machine burns for an option of the quote, s: its picture's size, its number of passes. */
export function optionSeconds(preparation: Preparation, photo: Photo, piece: Piece, option: QuoteOption): number {
  const sized = pieceOfOption(piece, option);
  return sized.passes.reduce((sum, pass) => sum + passSeconds(preparation, photo, sized, pass), 0);
}
