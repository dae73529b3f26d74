import { type ReactNode, useEffect, useState } from 'react';
import { Button } from 'react-aria-components';
import { create } from 'zustand';
import { persist } from 'zustand/middleware';
import { dayNumber, weekdayOf } from '../../base/day.ts';
import { quantity } from '../../base/quantity.ts';
import * as z from '../../base/zod.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Materials } from '../../shop/materials.ts';
import { DEFAULT_TERMS, type Plan, type PlannedDay, type PlannedTask, type PlanTerms } from '../../shop/plan.ts';
import { clock, planPaper, rounds, slabWords } from '../../shop/plan-paper.ts';
import { hourWords } from '../../shop/work-hours.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { Fault, TaskProgress } from '../fields/TaskProgress.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { PaperButtons } from '../outputs/PaperButtons.tsx';
import { createTask } from '../remote/task.ts';
import { makerOf, useMakerStore } from '../store/maker.ts';
import { beginBatch } from './batch.ts';
import { type Line, openPieces, setBoard, useBoardStore, waitingOf } from './board-store.ts';
import { askShop } from './shop-remote.ts';
import { dayWords, today } from './words.ts';

const keptTerms = z.object({
  days: z.int().check(z.minimum(1), z.maximum(366)),
  hours: z.array(z.number().check(z.minimum(0), z.maximum(24))).check(z.length(7)),
  beginMinute: z.number().check(z.minimum(0), z.maximum(1439)),
  changeMinutes: z.number().check(z.minimum(0), z.maximum(600)),
});

/** The hours of this workshop: kept on this machine, part of no piece. */
const useTerms = create<Omit<PlanTerms, 'from'>>()(
  persist(() => DEFAULT_TERMS, {
    name: 'foreburn-hours',
    version: 1,
    merge: (kept, first) => keptTerms.safeParse(kept).data ?? first,
  }),
);

const setTerms = useTerms.setState;

const planning = createTask();

interface Planned {
  readonly plan: Plan;
  readonly materials: Materials;
  readonly pieces: ReadonlyMap<string, Piece>;
}

const isProofed = ({ proof, isStale }: Line): boolean => proof !== null && !isStale;

/** What is done on which day, with what comes late or does not fit, and what it all takes. */
export function PlanView() {
  const lines = useBoardStore((state) => state.lines);
  const chosen = useBoardStore((state) => state.chosen);
  const terms = useTerms();
  const [planned, setPlanned] = useState<Planned | null>(null);
  const busy = planning.use((state) => state.busy !== null);
  const fault = planning.use((state) => state.fault);
  const waiting = waitingOf(lines ?? [], chosen);
  useEffect(() => {
    const make = async () => {
      const able = waitingOf(lines ?? [], chosen);
      const found = await planning.run('Planning', async ({ signal }) => {
        const opened = await openPieces(
          able.map(({ id }) => id),
          signal,
        );
        const minutes = new Map(able.map((line) => [line.id, isProofed(line) ? line.summary!.burnMinutes : null]));
        const jobs = opened.map(({ id, piece }) => ({ id, piece, burnMinutes: minutes.get(id) ?? null }));
        const answer = await askShop('plan', { jobs, terms: { ...terms, from: today() } });
        return { ...answer, pieces: new Map(opened.map(({ id, piece }) => [id, piece])) };
      });
      if (found) setPlanned(found);
    };
    // Numbers that are turned come one after the other.
    const timer = setTimeout(() => inBackground(make()), 120);
    return () => clearTimeout(timer);
  }, [lines, chosen, terms]);

  if (lines !== null && waiting.length === 0) {
    return (
      <div className="board-list">
        <div className="board-empty">
          <h3>Nothing waits</h3>
          <p>
            {lines.length === 0
              ? 'Once there are pieces on the board, this is where the week is laid out: coats, drying, burns.'
              : 'All of these pieces are burned or delivered. Pieces that are ideas, prepared or painted are planned here.'}
          </p>
        </div>
      </div>
    );
  }
  const unproofed = waiting.filter((line) => !isProofed(line));
  return (
    <div className="shop-view">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: by keys it is scrolled from here */}
      <section className="shop-main" aria-label="The days" tabIndex={0}>
        {busy && !planned && <TaskProgress of={planning} label="The plan" />}
        <Fault words={fault} />
        {planned && <Days {...planned} />}
      </section>
      <aside className="shop-side" aria-label="Hours and materials">
        {unproofed.length > 0 && (
          <div className="shop-hint">
            <p>
              {unproofed.length === 1 ? 'One piece is' : `${unproofed.length} pieces are`} not proofed as it is now, so
              nobody knows how long it burns.
            </p>
            <Button
              className="board-work"
              onPress={() => {
                setBoard({ look: 'pieces' });
                inBackground(
                  beginBatch(
                    unproofed.map(({ id }) => id),
                    ['proof'],
                  ),
                );
              }}
            >
              Proof {unproofed.length === 1 ? 'it' : 'them'}
            </Button>
          </div>
        )}
        {planned && <Sums {...planned} />}
        <Terms />
        {planned && (
          <PaperButtons
            what="plan"
            fileName="plan"
            isDisabled={planned.pieces.size === 0}
            make={async () => {
              const { plan, materials, pieces } = planned;
              const [first] = pieces.values();
              return planPaper(plan, materials, pieces, makerOf(first, useMakerStore.getState()));
            }}
          />
        )}
      </aside>
    </div>
  );
}

function nameOf(pieces: ReadonlyMap<string, Piece>, { id, copy }: { id: string; copy: number }): string {
  const piece = pieces.get(id);
  const name = piece?.name || 'Untitled piece';
  return piece && piece.order.quantity > 1 ? `${name}, ${copy} of ${piece.order.quantity}` : name;
}

/** Pieces by name, each once with how many slabs of it there are: “6 × Quay”. */
function namesOf(pieces: ReadonlyMap<string, Piece>, slabs: readonly { readonly id: string }[]): string {
  const counts = new Map<string, number>();
  for (const { id } of slabs) counts.set(id, (counts.get(id) ?? 0) + 1);
  return [...counts]
    .map(([id, count]) => `${count > 1 ? `${count} × ` : ''}${pieces.get(id)?.name || 'Untitled piece'}`)
    .join('; ');
}

/** What is done in one go; burns of one piece that follow each other are told together. */
function goes(tasks: readonly PlannedTask[]): PlannedTask[][] {
  const found: PlannedTask[][] = [];
  for (const round of rounds(tasks)) {
    const before = found.at(-1);
    if (round[0].kind === 'burn' && before?.[0].kind === 'burn' && before[0].id === round[0].id) before.push(...round);
    else found.push([...round]);
  }
  return found;
}

function Days({ plan, pieces }: Planned) {
  const whys = new Map<string, { id: string }[]>();
  const tell = (slab: { id: string }, why: string) => whys.set(why, [...(whys.get(why) ?? []), slab]);
  for (const one of plan.late) tell(one, `${one.days} ${one.days === 1 ? 'day' : 'days'} late.`);
  for (const one of plan.unplaced) tell(one, one.why);
  return (
    <>
      {whys.size > 0 && (
        <section className="shop-left" aria-label="What comes late or does not fit">
          <h3>Comes late or does not fit</h3>
          <ul>
            {[...whys].map(([why, slabs]) => (
              <li key={why}>
                <b>{namesOf(pieces, slabs)}:</b> {why}
              </li>
            ))}
          </ul>
        </section>
      )}
      {plan.days.map((day) => (
        <Day key={day.day} day={day} pieces={pieces} />
      ))}
    </>
  );
}

/** A day: bench and machine side by side over its hours, and what is done in order. */
function Day({ day, pieces }: { day: PlannedDay; pieces: Planned['pieces'] }) {
  const { tasks, givenMinutes, benchMinutes, machineMinutes } = day;
  const begin = Math.min(...tasks.map(({ startMinute }) => startMinute));
  const spanned = Math.max(givenMinutes, ...tasks.map(({ endMinute }) => endMinute - begin), 60);
  const share = (minutes: number) => `${(100 * minutes) / spanned}%`;
  return (
    <section className="shop-day" aria-label={dayWords(day.day)}>
      <h3>
        {dayWords(day.day)}
        <small className="shop-when">
          {tasks.length === 0
            ? givenMinutes === 0
              ? 'no hours given'
              : 'nothing to do'
            : `${hourWords(benchMinutes)} at the bench, ${hourWords(machineMinutes)} at the machine, of ${hourWords(givenMinutes)}`}
        </small>
      </h3>
      {tasks.length > 0 && (
        <>
          <div className="shop-lanes" aria-hidden="true">
            {(['coat', 'burn'] as const).map((kind) => (
              <div key={kind} className="shop-lane">
                <span>{kind === 'coat' ? 'Bench' : 'Machine'}</span>
                <div>
                  {tasks
                    .filter((task) => task.kind === kind)
                    .map((task) => (
                      <i
                        key={`${task.id} ${task.copy} ${task.startMinute}`}
                        className={`shop-${kind}`}
                        title={`${clock(task.startMinute)} ${nameOf(pieces, task)}: ${task.what}`}
                        style={{
                          left: share(task.startMinute - begin),
                          width: share(task.endMinute - task.startMinute),
                        }}
                      />
                    ))}
                </div>
              </div>
            ))}
          </div>
          <ol className="shop-rounds">
            {goes(tasks).map((round) => (
              <li className="shop-round" key={`${round[0].kind} ${round[0].startMinute} ${round[0].id}`}>
                <time>
                  {clock(round[0].startMinute)}–{clock(round[round.length - 1].endMinute)}
                </time>
                <span>
                  <b>{round[0].kind === 'coat' ? `Coat: ${round[0].what}` : `Burn: ${round[0].what.toLowerCase()}`}</b>{' '}
                  {namesOf(pieces, round)}
                </span>
              </li>
            ))}
          </ol>
        </>
      )}
    </section>
  );
}

function Sums({ plan, materials }: Planned): ReactNode {
  const { paints, slabs } = materials;
  return (
    <section className="shop-sums" aria-label="What it takes">
      <h3>All of it</h3>
      <dl>
        <div>
          <dt>At the bench</dt>
          <dd>{hourWords(plan.benchMinutes)}</dd>
        </div>
        <div>
          <dt>At the machine</dt>
          <dd>{hourWords(plan.machineMinutes)}</dd>
        </div>
        <div>
          <dt>Changes of machine</dt>
          <dd>{plan.changes}</dd>
        </div>
        <div>
          <dt>Given</dt>
          <dd>{hourWords(plan.givenMinutes)}</dd>
        </div>
      </dl>
      {slabs.length > 0 && (
        <>
          <h3>To have ready</h3>
          <ul>
            {paints.map(({ name, colorLab, ml }) => (
              <li key={`${name} ${colorLab.join(' ')}`}>
                <i className="shop-paint" style={{ background: `lab(${colorLab.join(' ')})` }} aria-hidden="true" />
                {name}: {Math.ceil(ml)} mL
              </li>
            ))}
            {slabs.map((slab) => (
              <li key={slabWords(slab)}>{slabWords(slab)}</li>
            ))}
          </ul>
          <p className="small-print">
            Paint with what is lost, as on the bench sheet; for pieces that are not painted yet.
          </p>
        </>
      )}
    </section>
  );
}

const DAYS = quantity(1, 366, { label: 'Days', unit: '', step: 1, digits: 0, sliderHigh: 28 });

const CHANGE = quantity(0, 600, { label: 'Change of machine', unit: 'min', step: 5, digits: 0, sliderHigh: 60 });

/** 1 January 1900 was a Monday; any week would do. */
const weekdayName = (day: number): string =>
  new Date(1900, 0, 1 + day).toLocaleDateString(undefined, { weekday: 'short' });

/** The hours that are given. */
function Terms() {
  const { days, hours, beginMinute, changeMinutes } = useTerms();
  const first = weekdayOf(dayNumber(today()));
  return (
    <section className="shop-terms" aria-label="Hours given">
      <h3>Hours given</h3>
      <div className="shop-week">
        {hours.map((value, day) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: days of the week
          <label key={day} data-today={day === first || undefined}>
            <span>{weekdayName(day)}</span>
            <input
              type="number"
              min={0}
              max={24}
              step={0.5}
              value={value}
              onChange={(event) => {
                const given = Math.min(24, Math.max(0, Number(event.currentTarget.value) || 0));
                setTerms({ hours: hours.with(day, given) });
              }}
            />
          </label>
        ))}
      </div>
      <label className="shop-begin">
        <span>The day begins</span>
        <input
          type="time"
          value={clock(beginMinute)}
          onChange={(event) => {
            const [hour, minute] = event.currentTarget.value.split(':').map(Number);
            if (Number.isFinite(hour) && Number.isFinite(minute)) setTerms({ beginMinute: 60 * hour + minute });
          }}
        />
      </label>
      <ValueControl
        of={DAYS}
        hint="How far ahead to plan, from today."
        value={days}
        onChange={(value) => setTerms({ days: Math.round(value) })}
      />
      <ValueControl
        of={CHANGE}
        hint="From one machine to another, with what is mounted on it."
        value={changeMinutes}
        onChange={(value) => setTerms({ changeMinutes: value })}
      />
    </section>
  );
}
