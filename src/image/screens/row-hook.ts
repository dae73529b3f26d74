import { Cancelled } from '../../base/cancelled.ts';

/** Called with the row that comes next, about every 256 rows; `false` cancels. */
export type RowHook = (row: number) => unknown;

/** Calls the hook on every 256th row. @throws Cancelled if it answers `false`. */
export function callRowHook(hook: RowHook | undefined, row: number): void {
  if (hook && row % 256 === 0 && hook(row) === false) throw new Cancelled();
}
