import { createPreparation, type Photo } from '../burn/prepare.ts';
import { paperText } from '../outputs/paper/paper-text.ts';
import { optionSeconds } from '../outputs/paper/quote-paper.ts';
import { fieldOf } from '../piece/fields.ts';
import type { Piece } from '../piece/schema.ts';
import { type PriceSize, pricePaper, priceRow, sizedPiece } from '../shop/prices.ts';
import { type Command, createProgress } from './io.ts';
import { MAKER_OPTIONS, makerOption } from './maker-options.ts';
import { CliError, quantityOption, UsageError } from './options.ts';
import { paperBytes, paperKind } from './paper-bytes.ts';
import { PIECES_OPERAND, readShopPieces } from './shop-pieces.ts';

export const PRICES: Command = {
  name: 'prices',
  operands: PIECES_OPERAND,
  summary:
    'Write a price list: each piece is a finish, with its coats, passes, machine and rates, in each of the sizes.',
  options: [
    {
      name: 'size',
      value: 'WxH[=COST]',
      several: true,
      help: 'of the slab in mm, as in 300x240=18; without its cost the first piece’s by area (default: the pieces’ own sizes)',
    },
    ...MAKER_OPTIONS,
    { name: 'costs', help: 'with minutes, paint and what each costs, for yourself' },
    { name: 'out', value: 'FILE', help: 'ends in .html or .pdf' },
    { name: 'json', help: 'print the list' },
  ],
  async run(operands, values, io) {
    const out = values['out'] as string | undefined;
    if (out !== undefined) paperKind(out);
    const asked = ((values['size'] as string[] | undefined) ?? []).map(sizeOption);
    const finishes = (await readShopPieces('prices', operands)).map((one) => ({
      ...one,
      name: one.piece.name || one.path,
    }));
    const names = new Set<string>();
    for (const { name, path } of finishes) {
      if (names.has(name))
        throw new CliError(`${path}: another piece is called "${name}" too; give each finish its own name`);
      names.add(name);
    }
    if (out !== undefined) await io.outputs.claim(out);
    const maker = await makerOption(finishes[0].piece, values);
    const sizes = asked.length > 0 ? asked : ownSizes(finishes.map(({ piece }) => piece));
    const progress = createProgress(io);
    const rows = [];
    for (const [i, finish] of finishes.entries()) {
      const photo = await finish.photo();
      for (const [j, size] of sizes.entries()) {
        progress.show((i + j / sizes.length) / finishes.length, finish.name);
        rows.push(priceRow(finish, size, secondsOf(sizedPiece(finish, size), photo)));
      }
    }
    progress.clear();
    const paper = pricePaper({ rows, piece: finishes[0].piece, maker, costs: values['costs'] === true });
    if (out !== undefined) await io.outputs.write(out, await paperBytes(out, paper));
    if (values['json']) io.out(`${JSON.stringify({ rows }, null, 2)}\n`);
    else io.out(`${paperText(paper)}\n${out === undefined ? '' : `Written to ${out}.\n`}`);
  },
};

const secondsOf = (piece: Piece, photo: Photo): number =>
  optionSeconds(createPreparation(true), photo, piece, piece.quote.options[0]);

function sizeOption(text: string): PriceSize {
  const [, width, height, cost] = /^([^x=]+)x([^x=]+)(?:=(.+))?$/i.exec(text) ?? [];
  if (width === undefined) throw new UsageError(`--size: write it as 300x240 or 300x240=18, got "${text}"`);
  return {
    widthMm: quantityOption('--size', width, fieldOf('slab.widthMm')),
    heightMm: quantityOption('--size', height, fieldOf('slab.heightMm')),
    slabCost: cost === undefined ? null : quantityOption('--size', cost, fieldOf('quote.options.0.slabCost')),
  };
}

/** Each size once, the smallest first. */
function ownSizes(pieces: readonly Piece[]): PriceSize[] {
  const sizes = new Map<string, PriceSize>();
  for (const { slab } of pieces)
    sizes.set(`${slab.widthMm} ${slab.heightMm}`, { widthMm: slab.widthMm, heightMm: slab.heightMm, slabCost: null });
  return [...sizes.values()].sort((a, b) => a.widthMm * a.heightMm - b.widthMm * b.heightMm);
}
