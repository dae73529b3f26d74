import { dayNumber } from '../base/day.ts';
import { ORDER_STATES, type OrderState } from '../piece/schema.ts';
import type { Summary } from './summary.ts';

/** A piece as the board lists it. */
export interface BoardLine {
  readonly id: string;
  readonly title: string;
  /** Name of its photograph's file; null for none. */
  readonly photoName: string | null;
  /** When it was changed last, ms. */
  readonly changedAt: number;
  /** Null where it cannot be read. */
  readonly summary: Summary | null;
}

export const SORTS = ['due', 'title', 'client', 'state', 'minutes', 'odds', 'changed'] as const;

export type SortBy = (typeof SORTS)[number];

export interface BoardView {
  /** All of these words must be found in what a line says. */
  readonly words: string;
  readonly state: OrderState | 'all';
  readonly by: SortBy;
  /** The other way round: what has nothing to be sorted by is last all the same. */
  readonly turned: boolean;
}

export const DEFAULT_VIEW: BoardView = { words: '', state: 'all', by: 'due', turned: false };

/** What a line is found by, as it is compared: without case and accents. */
const plain = (text: string): string => text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();

function textOf({ title, photoName, summary }: BoardLine): string {
  if (!summary) return plain(title);
  const { client, wood, machine, shelfEntry, paints } = summary;
  return plain(
    [title, client, photoName ?? '', wood, machine, shelfEntry?.name ?? '', ...paints.map(({ name }) => name)].join(
      '\n',
    ),
  );
}

const texts = new WeakMap<BoardLine, string>();

/** Made once for each line: a filter is asked at every letter. */
function searched(line: BoardLine): string {
  const text = texts.get(line) ?? textOf(line);
  texts.set(line, text);
  return text;
}

export const isFound = (line: BoardLine, words: string): boolean =>
  plain(words)
    .split(/\s+/)
    .every((word) => searched(line).includes(word));

/** What lines are sorted by, least first; null comes last. Changes and odds begin with the newest and the best. */
const KEYS: Readonly<Record<SortBy, (line: BoardLine) => number | string | null>> = {
  // What is delivered waits for nobody.
  due: ({ summary }) =>
    summary?.order.dueOn && summary.order.state !== 'delivered' ? dayNumber(summary.order.dueOn) : null,
  title: ({ title }) => title,
  client: ({ summary }) => summary?.client || null,
  state: ({ summary }) => (summary ? ORDER_STATES.indexOf(summary.order.state) : null),
  minutes: ({ summary }) => summary?.burnMinutes ?? null,
  odds: ({ summary }) => (summary?.accepted === null || !summary ? null : -summary.accepted),
  changed: ({ changedAt }) => -changedAt,
};

const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: 'base' });

/** The lines that are asked for, in order; of those alike the one changed last first. */
export function arrange<Line extends BoardLine>(lines: readonly Line[], view: BoardView): Line[] {
  const { words, state, by, turned } = view;
  const keyed = lines
    .filter((line) => (state === 'all' || line.summary?.order.state === state) && isFound(line, words))
    .map((line) => ({ line, key: KEYS[by](line) }));
  keyed.sort((a, b) => {
    if (a.key === null || b.key === null) {
      if (a.key !== b.key) return a.key === null ? 1 : -1;
    } else {
      const order =
        typeof a.key === 'string' ? collator.compare(a.key, String(b.key)) : (a.key as number) - (b.key as number);
      if (order !== 0) return turned ? -order : order;
    }
    return b.line.changedAt - a.line.changedAt;
  });
  return keyed.map(({ line }) => line);
}

/** How many lines there are in each state; those that cannot be read in none. */
export function countStates(lines: readonly BoardLine[]): Readonly<Record<OrderState | 'all', number>> {
  const counts = { all: lines.length, idea: 0, prepared: 0, painted: 0, burned: 0, delivered: 0 };
  for (const { summary } of lines) if (summary) counts[summary.order.state]++;
  return counts;
}
