import type { Lab } from '../base/color/lab.ts';
import { paintNeeded } from '../outputs/paper/bench-sheet.ts';
import type { Piece } from '../piece/schema.ts';

/** So much of one paint, thinner not counted, with what is lost on the way. */
export interface PaintAmount {
  readonly name: string;
  readonly colorLab: Lab;
  readonly ml: number;
}

/** Slabs of one kind. `shape`: those with outlines of their own are alike in their box only. */
export interface SlabCount {
  readonly wood: string;
  readonly shape: Piece['slab']['shape'];
  readonly widthMm: number;
  readonly heightMm: number;
  readonly thicknessMm: number;
  readonly count: number;
}

export interface Materials {
  /** Most of it first. */
  readonly paints: readonly PaintAmount[];
  /** Largest first. */
  readonly slabs: readonly SlabCount[];
}

/** Paint that one slab of a piece takes, coat by coat from the wood up. */
export const paintOf = ({ stack, slab, quote }: Piece): PaintAmount[] =>
  stack.coats.toReversed().map((coat) => ({
    name: coat.name,
    colorLab: coat.colorLab,
    ml: paintNeeded(coat, slab, quote.paintLoss).paintMl,
  }));

/** What all slabs of these pieces take together. A paint is told by its name and its colour. */
export function materialsOf(pieces: readonly Piece[]): Materials {
  const paints = new Map<string, PaintAmount>();
  const slabs = new Map<string, SlabCount>();
  for (const piece of pieces) {
    const { quantity } = piece.order;
    for (const paint of paintOf(piece)) {
      const key = JSON.stringify([paint.name, paint.colorLab]);
      paints.set(key, { ...paint, ml: (paints.get(key)?.ml ?? 0) + quantity * paint.ml });
    }
    const { wood, shape, widthMm, heightMm, thicknessMm } = piece.slab;
    const kind = { wood: wood.name, shape, widthMm, heightMm, thicknessMm };
    const key = JSON.stringify(kind);
    slabs.set(key, { ...kind, count: (slabs.get(key)?.count ?? 0) + quantity });
  }
  return {
    paints: [...paints.values()].sort((a, b) => b.ml - a.ml),
    slabs: [...slabs.values()].sort((a, b) => b.widthMm * b.heightMm - a.widthMm * a.heightMm),
  };
}
