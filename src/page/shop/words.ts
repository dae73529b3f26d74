import { dayNumber, dayOf } from '../../base/day.ts';
import type { OrderState } from '../../piece/schema.ts';
import type { SortBy } from '../../shop/board.ts';

export const STATE_WORDS: Readonly<Record<OrderState, string>> = {
  idea: 'Idea',
  prepared: 'Prepared',
  painted: 'Painted',
  burned: 'Burned',
  delivered: 'Delivered',
};

export const SORT_WORDS: Readonly<Record<SortBy, string>> = {
  due: 'Due',
  title: 'Piece',
  client: 'Client',
  state: 'State',
  minutes: 'Burn',
  odds: 'Will it come out?',
  changed: 'Changed last',
};

/** The maker's own day, as the engine writes days. */
export function today(): string {
  const now = new Date();
  // The Julian day of 1 January 1970 is 2440588.
  return dayOf(2440588 + Math.floor((now.getTime() - now.getTimezoneOffset() * 60_000) / 86_400_000));
}

/** A day as people say it, beside the one it is: “Fri, 4 Dec”. */
export const dayWords = (day: string): string =>
  new Date(`${day}T00:00:00`).toLocaleDateString(undefined, { weekday: 'short', day: 'numeric', month: 'short' });

/** How long until a piece is due. `isLate`: it is not done and the day is past. */
export function dueWords(dueOn: string, state: OrderState): { words: string; isLate: boolean; isSoon: boolean } {
  const days = dayNumber(dueOn) - dayNumber(today());
  if (state === 'delivered') return { words: '', isLate: false, isSoon: false };
  const isSoon = days >= 0 && days <= 2 && state !== 'burned';
  if (days === 0) return { words: 'today', isLate: false, isSoon };
  if (days === 1) return { words: 'tomorrow', isLate: false, isSoon };
  if (days > 0) return { words: `in ${days} days`, isLate: false, isSoon };
  return { words: days === -1 ? '1 day late' : `${-days} days late`, isLate: true, isSoon: false };
}
