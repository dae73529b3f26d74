import { referTo, type ShelfEntry } from '../studies/calibrate/shelf/shelf.ts';
import { LIKELY } from '../studies/diagnose/finding.ts';
import type { Summary } from './summary.ts';

/** Pieces that use an entry of the shelf and have older numbers of it. What is burned stays as it was burned. */
export function usersOf<Line extends { readonly summary: Summary | null }>(
  entry: ShelfEntry,
  lines: readonly Line[],
): Line[] {
  const { id, sum } = referTo(entry);
  return lines.filter(({ summary }) => {
    if (!summary?.shelfEntry || summary.order.state === 'burned' || summary.order.state === 'delivered') return false;
    return summary.shelfEntry.id === id && summary.shelfEntry.sum !== sum;
  });
}

/** Share of likely cases in which a piece comes out, 0–1, before and after; null where it is not known. */
export interface Outlook {
  readonly before: number | null;
  readonly after: number | null;
}

/** As the board marks it. */
const comesOut = (accepted: number): boolean => accepted >= LIKELY;

/** What new numbers change: “3 of 11 no longer come out; 1 comes out now.” */
export function renewalWords(outlooks: readonly Outlook[]): string {
  const told = outlooks.flatMap(({ before, after }) =>
    before === null || after === null ? [] : [{ before: comesOut(before), after: comesOut(after) }],
  );
  const count = (before: boolean, after: boolean): number =>
    told.filter((one) => one.before === before && one.after === after).length;
  const [lost, won] = [count(true, false), count(false, true)];
  const unknown = outlooks.length - told.length;
  const without = unknown === 0 ? '' : ` ${unknown} had no proof to compare with.`;
  if (told.length === 0) return without.trim();
  const said = [
    lost > 0 && `${lost} of ${told.length} no longer ${lost === 1 ? 'comes out' : 'come out'}`,
    won > 0 && `${won}${lost > 0 ? '' : ` of ${told.length}`} ${won === 1 ? 'comes out' : 'come out'} now`,
  ].filter(Boolean);
  if (said.length > 0) return `${said.join('; ')}.${without}`;
  const still = count(true, true);
  return `${still} of ${told.length} ${still === 1 ? 'comes out' : 'come out'}, as before.${without}`;
}
