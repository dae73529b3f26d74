import { dayNumber, weekdayOf } from '../base/day.ts';
import type { Maker } from '../base/maker.ts';
import type { Block, Paper } from '../outputs/paper/paper.ts';
import type { Piece } from '../piece/schema.ts';
import type { Materials, SlabCount } from './materials.ts';
import type { Plan, PlannedDay, PlannedTask } from './plan.ts';
import { hourWords } from './work-hours.ts';

const WEEKDAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'] as const;

/** The plan to hang up in the shop. `pieces`: by the ids of the plan. */
export function planPaper(plan: Plan, materials: Materials, pieces: ReadonlyMap<string, Piece>, maker: Maker): Paper {
  const named = ({ id, copy }: { readonly id: string; readonly copy: number }): string => {
    const piece = pieces.get(id);
    const name = piece?.name || 'Untitled piece';
    return (piece?.order.quantity ?? 1) > 1 ? `${name}, ${copy} of ${piece!.order.quantity}` : name;
  };
  const namesOf = (round: readonly PlannedTask[]): string => {
    const counts = new Map<string, number>();
    for (const { id } of round) counts.set(id, (counts.get(id) ?? 0) + 1);
    return [...counts]
      .map(([id, count]) => {
        const piece = pieces.get(id);
        const client = piece?.quote.client ? ` (${piece.quote.client})` : '';
        return `${count > 1 ? `${count} × ` : ''}${piece?.name || 'Untitled piece'}${client}`;
      })
      .join('; ');
  };
  const first = plan.days[0].day;
  const last = plan.days[plan.days.length - 1].day;
  const dayBlocks = (day: PlannedDay): Block[] =>
    day.tasks.length === 0
      ? []
      : [
          {
            kind: 'heading',
            text: `${WEEKDAYS[weekdayOf(dayNumber(day.day))]} ${day.day}: ${hourWords(day.benchMinutes)} at the bench, ${hourWords(day.machineMinutes)} at the machine, of ${hourWords(day.givenMinutes)}`,
          },
          {
            kind: 'table',
            head: ['', 'What', 'Pieces', 'Due'],
            numeric: [true, false, false, true],
            rows: rounds(day.tasks).map((round) => [
              `${clock(round[0].startMinute)}–${clock(round[round.length - 1].endMinute)}`,
              round[0].kind === 'coat' ? `Coat: ${round[0].what}` : `Burn: ${round[0].what.toLowerCase()}`,
              namesOf(round),
              round
                .flatMap(({ id }) => pieces.get(id)?.order.dueOn ?? [])
                .sort()
                .at(0) ?? '',
            ]),
          },
        ];
  const left = [
    ...plan.late.map((one) => `${named(one)}: ${one.days} ${one.days === 1 ? 'day' : 'days'} late.`),
    ...plan.unplaced.map((one) => `${named(one)}: ${one.why}`),
  ];
  const { paints, slabs } = materials;
  return {
    title: 'What to do when',
    maker,
    subtitle: first === last ? first : `${first} to ${last}`,
    language: 'en',
    foot: 'Foreburn plan',
    blocks: [
      {
        kind: 'text',
        text: `All of it takes ${hourWords(plan.benchMinutes)} at the bench and ${hourWords(plan.machineMinutes)} at the machine, with ${plan.changes === 0 ? 'no change' : plan.changes === 1 ? 'one change' : `${plan.changes} changes`} of machine; ${hourWords(plan.givenMinutes)} are given. Bench and machine work side by side, so nothing at the bench may call you away from a burn.`,
      },
      ...(left.length > 0
        ? [
            { kind: 'heading', text: 'What comes late or does not fit' } as const,
            { kind: 'bullets', items: left } as const,
          ]
        : []),
      ...plan.days.flatMap(dayBlocks),
      ...(slabs.length > 0
        ? [
            { kind: 'heading', text: 'What it takes' } as const,
            {
              kind: 'bullets',
              items: [
                ...slabs.map(slabWords),
                ...paints.map(({ name, ml }) => `${Math.ceil(ml)} mL of ${name}, with what is lost`),
              ],
            } as const,
          ]
        : []),
      {
        kind: 'text',
        tone: 'quiet',
        text: 'Coats dry and cure for the hours that the piece has for them; the paint maker’s data sheet comes first. Painted pieces count as cured. Of a piece’s handwork each layer gets the same share, and the burn one.',
      },
    ],
  };
}

/** The same layer on one piece after another is one round with the gun or the brush. A burn stands alone. */
export function rounds(tasks: readonly PlannedTask[]): PlannedTask[][] {
  const found: PlannedTask[][] = [];
  for (const task of tasks) {
    const open = found.findLast(([{ kind }]) => kind === 'coat');
    const last = open?.at(-1);
    if (task.kind === 'coat' && last?.what === task.what && task.startMinute - last.endMinute < 1) open!.push(task);
    else found.push([task]);
  }
  return found;
}

export const slabWords = ({ wood, shape, widthMm, heightMm, thicknessMm, count }: SlabCount): string =>
  `${count} × ${wood.toLowerCase()}, ${shape === 'outline' ? 'own outline' : shape}, ${[widthMm, heightMm, thicknessMm].map((mm) => Math.round(10 * mm) / 10).join(' × ')} mm`;

/** A minute of the day as clocks show it. */
export const clock = (minute: number): string => {
  const whole = Math.round(minute);
  return `${String(Math.floor(whole / 60)).padStart(2, '0')}:${String(whole % 60).padStart(2, '0')}`;
};
