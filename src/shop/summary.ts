import type { FromShelf, Order, Piece } from '../piece/schema.ts';
import { type PaintAmount, paintOf } from './materials.ts';

/** What computing a piece has told, as far as a board shows it. Kept beside the piece, since it takes seconds to come by. */
export interface Foretold {
  /** How long each pass burns, s. */
  readonly passSeconds: readonly number[];
  /** The diagnosis' sentence, and the share of likely cases in which the piece comes out, 0–1. */
  readonly verdict: string;
  readonly accepted: number;
}

/** A piece as one line of a board. Times and paint are those of one slab; `order.quantity` says how many there are. */
export interface Summary {
  readonly name: string;
  readonly client: string;
  readonly order: Order;
  readonly wood: string;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly pictureWidthMm: number;
  readonly machine: string;
  /** Where paint and machine are from; null for no shelf. */
  readonly shelfEntry: FromShelf | null;
  /** All passes together; null until it is computed. */
  readonly burnMinutes: number | null;
  readonly verdict: string | null;
  readonly accepted: number | null;
  readonly paints: readonly PaintAmount[];
}

/** @param foretold null where the piece has not been computed as it is now. */
export function summaryOf(piece: Piece, foretold: Foretold | null): Summary {
  const { name, quote, order, slab, picture, machine, shelfEntry } = piece;
  return {
    name,
    client: quote.client,
    order,
    wood: slab.wood.name,
    widthMm: slab.widthMm,
    heightMm: slab.heightMm,
    pictureWidthMm: picture.widthMm,
    machine: machine.name,
    shelfEntry,
    burnMinutes: foretold && burnMinutesOf(foretold),
    verdict: foretold?.verdict ?? null,
    accepted: foretold?.accepted ?? null,
    paints: paintOf(piece),
  };
}

export const burnMinutesOf = ({ passSeconds }: Foretold): number =>
  passSeconds.reduce((sum, seconds) => sum + seconds, 0) / 60;
