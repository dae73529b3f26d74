import type { QuoteOption, QuoteSettings } from '../../piece/quote-schema.ts';
import type { Piece } from '../../piece/schema.ts';
import { paintNeeded } from './paint-needed.ts';

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
