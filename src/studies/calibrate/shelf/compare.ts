import { createPiece } from '../../../piece/defaults.ts';
import type { Piece } from '../../../piece/schema.ts';
import { parametersOf } from '../../sure/parameters.ts';
import { type ShelfEntry, takeFromShelf } from './shelf.ts';

export interface ComparedNumber {
  readonly name: string;
  readonly words: string;
  readonly unit: string;
  readonly first: number | null;
  readonly second: number | null;
  /** Second over first. */
  readonly ratio: number | null;
  /** Difference of the logarithms over their deviations together; beyond 2 they differ for sure. Null where nothing is known. */
  readonly apart: number | null;
}

/** Two entries, number by number. */
export function compareEntries(first: ShelfEntry, second: ShelfEntry): ComparedNumber[] {
  const [a, b] = [first, second].map((entry) => takeFromShelf(createPiece('', ''), entry));
  const [inA, inB] = [a, b].map(
    (piece) => new Map(parametersOf(piece).map((parameter) => [parameter.name, parameter])),
  );
  return [...new Set([...inA.keys(), ...inB.keys()])].map((name) => {
    const { words, unit } = (inA.get(name) ?? inB.get(name))!;
    const one = inA.get(name)?.get(a) ?? null;
    const other = inB.get(name)?.get(b) ?? null;
    const ratio = one !== null && other !== null && one > 0 ? other / one : null;
    const spread = Math.hypot(deviationOf(a, name), deviationOf(b, name));
    return {
      name,
      words,
      unit,
      first: one,
      second: other,
      ratio,
      apart: ratio && spread > 0 ? Math.log(ratio) / spread : null,
    };
  });
}

function deviationOf({ certainty }: Piece, name: string): number {
  const at = certainty.covariance?.names.indexOf(name) ?? -1;
  return at < 0 ? 0 : Math.sqrt(certainty.covariance!.matrix[at][at]);
}
