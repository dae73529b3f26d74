import type { Calendar } from './work-hours.ts';

/** A burn that is not broken off. Times in minutes of all days. */
export interface BurnBlock {
  readonly minutes: number;
  /** When its coats have cured. */
  readonly readyMinute: number;
  /** Infinite where it is not due. */
  readonly dueMinute: number;
  /** What must be mounted on the machine for it. */
  readonly mounted: string;
}

interface SequenceTerms {
  readonly beginMinute: number;
  readonly changeMinutes: number;
  readonly calendar: Calendar;
}

interface Sequence {
  readonly order: readonly { readonly at: number; readonly start: number; readonly end: number }[];
  readonly changes: number;
}

/** What an order is judged by, the weightiest first: the latest piece, how late all are together, changes, when all is done. Minutes. */
type Cost = readonly [latest: number, together: number, changes: number, done: number];

/** Orders that are looked at, at most: some tens of pieces are searched through, and hundreds still take no second. */
const MOST_LOOKED_AT = 20_000;

/**
 * The order in which a machine burns what is there: earliest due first (J. R. Jackson, "Scheduling a production line to minimize maximum
 * tardiness", Research Report 43, Management Science Research Project, University of California, Los Angeles, 1955), of what has cured.
 * That is the best there is where all have cured and nothing has to be changed. With curing times and changes the problem is NP-hard
 * (M. Schutten, S. van de Velde, W. Zijm, "Single-machine scheduling with release dates, due dates, and family setup times", Management
 * Science 42(8), 1165–1174, 1996). So the order is bettered from there, by moving a burn, or a run of burns on one machine, to another
 * place, or exchanging two, as long as that helps: it is never worse. Test: all orders of a few burns.
 */
export function sequence(blocks: readonly BurnBlock[], terms: SequenceTerms): Sequence {
  let order = earliestDueFirst(blocks, terms);
  let cost = costOf(blocks, order, terms);
  const kinds = new Set(blocks.map(({ mounted }) => mounted)).size;
  const isBest = ([latest, , changes]: Cost): boolean => latest === 0 && changes <= kinds - 1;
  let looked = 0;
  for (let better = !isBest(cost); better; ) {
    better = false;
    for (const moved of neighbours(blocks, order)) {
      if (++looked > MOST_LOOKED_AT) break;
      const there = costOf(blocks, moved, terms);
      if (!isLess(there, cost)) continue;
      [order, cost, better] = [moved, there, !isBest(there)];
      break;
    }
  }
  return timed(blocks, order, terms);
}

/** Each time the machine is free: of what has cured by then, what is due first; of those due at once, what needs no change. */
function earliestDueFirst(
  blocks: readonly BurnBlock[],
  { beginMinute, changeMinutes, calendar }: SequenceTerms,
): number[] {
  const left = new Set(blocks.keys());
  const order: number[] = [];
  let free = beginMinute;
  let mounted: string | null = null;
  while (left.size > 0) {
    const changeFor = (at: number): number => (mounted === null || blocks[at].mounted === mounted ? 0 : changeMinutes);
    const startOf = (at: number): number =>
      calendar.fits(Math.max(free, blocks[at].readyMinute), blocks[at].minutes + changeFor(at));
    const starts = [...left].map((at) => ({ at, start: startOf(at) }));
    const soonest = Math.min(...starts.map(({ start }) => start));
    const [{ at }] = starts
      .filter(({ start }) => start === soonest)
      .sort(
        (a, b) => blocks[a.at].dueMinute - blocks[b.at].dueMinute || changeFor(a.at) - changeFor(b.at) || a.at - b.at,
      );
    left.delete(at);
    order.push(at);
    free = soonest + changeFor(at) + blocks[at].minutes;
    mounted = blocks[at].mounted;
  }
  return order;
}

/** An order kept strictly, each burn as soon as it may. */
function timed(blocks: readonly BurnBlock[], order: readonly number[], terms: SequenceTerms): Sequence {
  const { beginMinute, changeMinutes, calendar } = terms;
  let free = beginMinute;
  let changes = 0;
  const placed = order.map((at, i) => {
    const { minutes, readyMinute, mounted } = blocks[at];
    const change = i > 0 && blocks[order[i - 1]].mounted !== mounted;
    if (change) changes++;
    const start = calendar.fits(Math.max(free, readyMinute), minutes + (change ? changeMinutes : 0));
    free = start + minutes + (change ? changeMinutes : 0);
    return { at, start, end: free };
  });
  return { order: placed, changes };
}

export function costOf(blocks: readonly BurnBlock[], order: readonly number[], terms: SequenceTerms): Cost {
  const { order: placed, changes } = timed(blocks, order, terms);
  let latest = 0;
  let together = 0;
  for (const { at, end } of placed) {
    const late = Math.max(0, end - blocks[at].dueMinute);
    latest = Math.max(latest, late);
    together += late;
  }
  return [latest, together, changes, placed.at(-1)?.end ?? 0];
}

export function isLess(a: Cost, b: Cost): boolean {
  const at = a.findIndex((value, i) => Math.abs(value - b[i]) > 1e-6);
  return at >= 0 && a[at] < b[at];
}

/** The order with one burn, or the run of burns on one machine that begins with it, at another place, or with two burns exchanged. */
function* neighbours(blocks: readonly BurnBlock[], order: readonly number[]): Generator<number[]> {
  for (let from = 0; from < order.length; from++) {
    let run = from + 1;
    while (run < order.length && blocks[order[run]].mounted === blocks[order[from]].mounted) run++;
    for (const end of new Set([from + 1, run])) {
      const part = order.slice(from, end);
      const rest = [...order.slice(0, from), ...order.slice(end)];
      for (let to = 0; to <= rest.length; to++)
        if (to !== from) yield [...rest.slice(0, to), ...part, ...rest.slice(to)];
    }
    for (let to = from + 1; to < order.length; to++) yield order.with(from, order[to]).with(to, order[from]);
  }
}
