import { dayNumber, dayOf, weekdayOf } from '../base/day.ts';
import type { Piece } from '../piece/schema.ts';
import { type BurnBlock, sequence } from './sequence.ts';
import { createCalendar, hourWords, MINUTES_A_DAY } from './work-hours.ts';

/** A piece to be planned. `burnMinutes`: of one slab; null where it has not been computed. */
export interface PlanJob {
  readonly id: string;
  readonly piece: Piece;
  readonly burnMinutes: number | null;
}

export interface PlanTerms {
  /** First day, and how many there are. */
  readonly from: string;
  readonly days: number;
  /** Hours given on Monday to Sunday, all from the same time in the morning. */
  readonly hours: readonly number[];
  readonly beginMinute: number;
  /** To change from one machine, or what is mounted on it, to another. */
  readonly changeMinutes: number;
}

export const DEFAULT_TERMS: Omit<PlanTerms, 'from'> = {
  days: 7,
  hours: [8, 8, 8, 8, 8, 4, 0],
  beginMinute: 8 * 60,
  changeMinutes: 20,
};

/** One slab of a piece: `copy` counts from 1 up to the quantity. */
interface Slab {
  readonly id: string;
  readonly copy: number;
}

/** Minutes count from midnight. What is laid at the bench and what is burned go on at once. */
export interface PlannedTask extends Slab {
  readonly kind: 'coat' | 'burn';
  readonly what: string;
  readonly startMinute: number;
  readonly endMinute: number;
}

export interface PlannedDay {
  readonly day: string;
  readonly givenMinutes: number;
  readonly benchMinutes: number;
  readonly machineMinutes: number;
  /** In the order in which they begin. */
  readonly tasks: readonly PlannedTask[];
}

export interface Plan {
  readonly days: readonly PlannedDay[];
  /** What is not done within the days, each with a sentence that says why. */
  readonly unplaced: readonly (Slab & { readonly why: string })[];
  /** What is done after the day on which it is due, also beyond the days that were asked for. */
  readonly late: readonly (Slab & { readonly days: number })[];
  /** Changes from one machine to another. */
  readonly changes: number;
  /** All that is asked for, placed or not, against what is given. */
  readonly benchMinutes: number;
  readonly machineMinutes: number;
  readonly givenMinutes: number;
}

/** One layer to be laid: so long at the bench, then so long until the next, or until the burn. */
interface Layer {
  readonly what: string;
  readonly paint: string;
  readonly minutes: number;
  readonly dryMinutes: number;
}

/** A slab on its way through the shop. Times in minutes of all days. */
interface Work extends Slab {
  readonly name: string;
  readonly dueMinute: number;
  readonly layers: readonly Layer[];
  readonly burn: Omit<BurnBlock, 'readyMinute'>;
  readonly passes: number;
}

/** What is still to be done of each slab; those whose burn nobody knows apart. */
function workOf(jobs: readonly PlanJob[]): { work: Work[]; unknown: Slab[] } {
  const work: Work[] = [];
  const unknown: Slab[] = [];
  for (const { id, piece, burnMinutes } of jobs) {
    const { state, quantity, dueOn } = piece.order;
    if (state === 'burned' || state === 'delivered') continue;
    const layers = layersOf(piece);
    const share = handworkShare(piece);
    for (let copy = 1; copy <= quantity; copy++) {
      if (burnMinutes === null) {
        unknown.push({ id, copy });
        continue;
      }
      const dueMinute = dueOn === null ? Number.POSITIVE_INFINITY : (dayNumber(dueOn) + 1) * MINUTES_A_DAY;
      work.push({
        id,
        copy,
        name: piece.name || 'Untitled piece',
        dueMinute,
        layers: state === 'painted' ? [] : layers,
        passes: piece.passes.length,
        burn: { minutes: burnMinutes + share, dueMinute, mounted: mountedFor(piece) },
      });
    }
  }
  return { work, unknown };
}

/** What must be mounted for a burn. */
const mountedFor = ({ machine }: Piece): string =>
  `${machine.name}, ${machine.source.wavelengthNm} nm, ${machine.source.fullPowerW} W`;

/**
 * The piece knows only the sum of its handwork: each layer gets the same share of it, and one share goes to all that is done at the burn
 * (an estimate).
 */
function handworkShare({ quote, stack }: Piece): number {
  const layers = stack.coats.reduce((sum, coat) => sum + coat.layers, 0);
  return quote.options[0].handworkMinutes / (layers + 1);
}

/** From the wood up. After the last one the stack cures too. */
function layersOf(piece: Piece): Layer[] {
  const minutes = handworkShare(piece);
  const layers = piece.stack.coats.toReversed().flatMap((coat) =>
    Array.from(
      { length: coat.layers },
      (_, i): Layer => ({
        what: `${coat.name}${coat.layers > 1 ? `, ${i + 1} of ${coat.layers}` : ''}`,
        paint: coat.name,
        minutes,
        dryMinutes: 60 * coat.dryHours,
      }),
    ),
  );
  const last = layers.pop();
  return last ? [...layers, { ...last, dryMinutes: last.dryMinutes + 60 * piece.stack.cureHours }] : [];
}

/** A task in minutes of all days. */
interface Timed extends Slab {
  readonly kind: 'coat' | 'burn';
  readonly what: string;
  readonly start: number;
  readonly end: number;
}

/**
 * Plans what is done when. At the bench the piece that is due first gets its next layer as soon as the one before is dry; of those due on
 * one day the one with the paint in hand. The machine burns what has cured in the order of `sequence.ts`. Layers and burns are never broken
 * off at the end of a day. What is done on the day on which it is due is in time.
 */
export function planDays(jobs: readonly PlanJob[], terms: PlanTerms): Plan {
  const { work, unknown } = workOf(jobs);
  const calendar = createCalendar(terms.hours, terms.beginMinute);
  const first = dayNumber(terms.from);
  const begin = first * MINUTES_A_DAY;
  const horizon = (first + terms.days) * MINUTES_A_DAY;
  const tooLong = ({ layers, burn }: Work): boolean =>
    [burn.minutes, ...layers.map(({ minutes }) => minutes)].some((minutes) => minutes > calendar.longestMinutes + 1e-9);
  const able = work.filter((one) => !tooLong(one));
  const laid = layCoats(able, begin, calendar);
  const burned = sequence(
    able.map(({ burn }, i) => ({ ...burn, readyMinute: laid.ready[i] })),
    { beginMinute: begin, changeMinutes: terms.changeMinutes, calendar },
  );
  const burns = burned.order.map(
    ({ at, start, end }): Timed => ({
      id: able[at].id,
      copy: able[at].copy,
      kind: 'burn',
      what: able[at].passes === 1 ? 'One pass' : `${able[at].passes} passes`,
      start,
      end,
    }),
  );
  const tasks = [...laid.tasks, ...burns].filter(({ end }) => end <= horizon).sort((a, b) => a.start - b.start);
  const sum = (minutes: readonly number[]): number => minutes.reduce((total, one) => total + one, 0);
  const days = Array.from({ length: terms.days }, (_, i): PlannedDay => {
    const number = first + i;
    const midnight = number * MINUTES_A_DAY;
    const today = tasks.filter(({ start }) => Math.floor(start / MINUTES_A_DAY) === number);
    const minutesOf = (kind: Timed['kind']) =>
      sum(today.filter((task) => task.kind === kind).map(({ start, end }) => end - start));
    return {
      day: dayOf(number),
      givenMinutes: 60 * terms.hours[weekdayOf(number)],
      benchMinutes: minutesOf('coat'),
      machineMinutes: minutesOf('burn'),
      tasks: today.map(({ start, end, ...task }) => ({
        ...task,
        startMinute: start - midnight,
        endMinute: end - midnight,
      })),
    };
  });
  const slabOf = ({ id, copy }: Slab): Slab => ({ id, copy });
  const longest = hourWords(calendar.longestMinutes);
  return {
    days,
    unplaced: [
      ...unknown.map((slab) => ({ ...slab, why: 'How long it burns has not been computed.' })),
      ...work.filter(tooLong).map((one) => ({
        ...slabOf(one),
        why: `Its burn with what goes with it takes ${hourWords(one.burn.minutes)}, and no day has more than ${longest}.`,
      })),
      ...burns
        .filter(({ end }) => end > horizon)
        .map((task) => ({
          ...slabOf(task),
          why: `It would be burned on ${dayOf(Math.floor(task.start / MINUTES_A_DAY))}, after the last of these days.`,
        })),
    ],
    late: burned.order.flatMap(({ at, end }) => {
      const { dueMinute } = able[at];
      return end > dueMinute ? [{ ...slabOf(able[at]), days: Math.ceil((end - dueMinute) / MINUTES_A_DAY) }] : [];
    }),
    changes: burned.changes,
    benchMinutes: sum(work.flatMap(({ layers }) => layers.map(({ minutes }) => minutes))),
    machineMinutes: sum(work.map(({ burn }) => burn.minutes)) + burned.changes * terms.changeMinutes,
    givenMinutes: sum(days.map(({ givenMinutes }) => givenMinutes)),
  };
}

/** Lays all layers and says when each slab may be burned. */
function layCoats(
  work: readonly Work[],
  begin: number,
  calendar: ReturnType<typeof createCalendar>,
): { readonly tasks: Timed[]; readonly ready: number[] } {
  const ready = work.map(() => begin);
  const next = work.map(() => 0);
  const tasks: Timed[] = [];
  let free = begin;
  let paint = '';
  for (;;) {
    const waiting = work.flatMap(({ layers }, i) => (next[i] < layers.length ? [i] : []));
    if (waiting.length === 0) return { tasks, ready };
    const startOf = (i: number): number => calendar.fits(Math.max(free, ready[i]), work[i].layers[next[i]].minutes);
    const starts = new Map(waiting.map((i) => [i, startOf(i)]));
    const soonest = Math.min(...starts.values());
    const now = waiting.filter((i) => starts.get(i) === soonest);
    const inHand = (i: number): number => (work[i].layers[next[i]].paint === paint ? 0 : 1);
    // Infinite minus infinite is no number: neither is due.
    now.sort((a, b) => work[a].dueMinute - work[b].dueMinute || inHand(a) - inHand(b) || a - b);
    const [i] = now;
    const layer = work[i].layers[next[i]];
    const end = soonest + layer.minutes;
    tasks.push({ id: work[i].id, copy: work[i].copy, kind: 'coat', what: layer.what, start: soonest, end });
    next[i]++;
    ready[i] = end + layer.dryMinutes;
    free = end;
    paint = layer.paint;
  }
}
