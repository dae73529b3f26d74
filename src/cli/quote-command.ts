import { createPreparation } from '../burn/prepare.ts';
import { PROOF_MM } from '../outputs/paper/paper.ts';
import { coinDigits, optionSeconds, quotePaper, sumQuote } from '../outputs/paper/quote-paper.ts';
import { type Piece, QUOTE_LANGUAGES, type QuoteSettings } from '../piece/schema.ts';
import type { CliIo, Command } from './io.ts';
import { MAKER_OPTIONS, makerOption } from './maker-options.ts';
import { BURN_OPTIONS, baseNameOf, openJob, PIECE_OPTION } from './open-job.ts';
import { type OptionValues, UsageError } from './options.ts';
import { paperBytes, paperKind } from './paper-bytes.ts';
import { proofPicture } from './proof-picture.ts';

export const QUOTE: Command = {
  name: 'quote',
  operands: '[PHOTO]',
  summary: 'Write a quote for the client: the proof, options side by side, net, tax and total.',
  options: [
    PIECE_OPTION,
    { name: 'out', value: 'FILE', help: 'ends in .html or .pdf (default: the name with -quote.pdf)' },
    ...BURN_OPTIONS,
    ...MAKER_OPTIONS,
    { name: 'client', value: 'NAME', help: 'who it is for' },
    { name: 'currency', value: 'CODE', help: 'three letters after ISO 4217, as in EUR' },
    { name: 'language', value: 'CODE', help: `one of ${QUOTE_LANGUAGES.join(', ')}` },
    { name: 'date', value: 'YYYY-MM-DD', help: 'day of the quote (default: today)' },
    { name: 'json', help: 'print the sums, the maker’s own costs too' },
  ],
  async run(operands, values, io) {
    const asked = values['out'] as string | undefined;
    if (asked) paperKind(asked);
    const today = dayOption(values, io);
    const terms = termsOption(values);
    const out = asked ?? `${baseNameOf(operands, values)}-quote.pdf`;
    const opened = await openJob('quote', operands, values, () => io.outputs.claim(out));
    const piece: Piece = { ...opened.piece, quote: { ...opened.piece.quote, ...terms } };
    const { photo } = opened;
    const maker = await makerOption(piece, values);
    const preparation = createPreparation();
    const sums = piece.quote.options.map((option) =>
      sumQuote(piece, option, optionSeconds(preparation, photo, piece, option)),
    );
    const { url } = await proofPicture({ piece, photo }, io, PROOF_MM.quote);
    const paper = quotePaper({ piece, photo: photo.picture, sums, pictureUrl: url, maker, today });
    await io.outputs.write(out, await paperBytes(out, paper));
    const options = piece.quote.options.map((option, i) => ({ ...option, ...sums[i] }));
    if (values['json']) io.out(`${JSON.stringify({ file: out, currency: piece.quote.currency, options }, null, 2)}\n`);
    else io.out(`${out}:\n${options.map((option) => optionLine(option, piece.quote.currency)).join('')}`);
  },
};

const optionLine = (
  { name, total, machineMinutes }: { name: string; total: number; machineMinutes: number },
  currency: string,
) =>
  `  ${name}: ${currency} ${total.toFixed(coinDigits(currency))}, ${Math.round(machineMinutes)} min of machine time\n`;

export function dayOption(values: OptionValues, io: CliIo): number {
  const text = values['date'] as string | undefined;
  if (text === undefined) return io.today();
  const day = /^\d{4}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T12:00:00Z`) : Number.NaN;
  if (!Number.isFinite(day)) throw new UsageError(`--date: must be a day like 2031-05-02, got "${text}"`);
  return day;
}

function termsOption(values: OptionValues): Partial<QuoteSettings> {
  const terms: { -readonly [Key in keyof QuoteSettings]?: QuoteSettings[Key] } = {};
  if (values['client'] !== undefined) terms.client = (values['client'] as string).slice(0, 200);
  const currency = values['currency'] as string | undefined;
  if (currency !== undefined) {
    if (!/^[A-Z]{3}$/.test(currency))
      throw new UsageError(`--currency: must be three capital letters like EUR, got "${currency}"`);
    terms.currency = currency;
  }
  const language = values['language'] as string | undefined;
  if (language !== undefined) {
    const found = QUOTE_LANGUAGES.find((one) => one === language);
    if (!found) throw new UsageError(`--language: must be one of ${QUOTE_LANGUAGES.join(', ')}, got "${language}"`);
    terms.language = found;
  }
  return terms;
}
