import { dayNumber, dayOf, isDay } from '../base/day.ts';
import { createPreparation } from '../burn/prepare.ts';
import { paperText } from '../outputs/paper/paper-text.ts';
import { materialsOf } from '../shop/materials.ts';
import { DEFAULT_TERMS, type PlanJob, type PlanTerms, planDays } from '../shop/plan.ts';
import { planPaper } from '../shop/plan-paper.ts';
import { passSeconds } from '../studies/rescue/propose.ts';
import { type CliIo, type Command, createProgress } from './io.ts';
import { MAKER_OPTIONS, makerOption } from './maker-options.ts';
import { numberOption, type OptionValues, UsageError } from './options.ts';
import { paperBytes, paperKind } from './paper-bytes.ts';
import { PIECES_OPERAND, readShopPieces, type ShopPiece } from './shop-pieces.ts';

const MOST_DAYS = 366;

export const PLAN: Command = {
  name: 'plan',
  operands: PIECES_OPERAND,
  summary:
    'Say what to coat and what to burn on which day, earliest due first, what does not fit, and what paint and slabs it takes.',
  options: [
    { name: 'from', value: 'YYYY-MM-DD', help: 'first day (default: today)' },
    { name: 'days', value: 'N', help: `how many (default ${DEFAULT_TERMS.days})` },
    {
      name: 'hours',
      value: 'N[,N…]',
      help: `given each day, or seven numbers from Monday (default ${DEFAULT_TERMS.hours.join(',')})`,
    },
    { name: 'begin', value: 'HH:MM', help: 'when a day begins (default 08:00)' },
    {
      name: 'change',
      value: 'MIN',
      help: `to change from one machine to another (default ${DEFAULT_TERMS.changeMinutes})`,
    },
    ...MAKER_OPTIONS,
    { name: 'out', value: 'FILE', help: 'also as a paper: ends in .html or .pdf' },
    { name: 'json', help: 'print the plan' },
  ],
  async run(operands, values, io) {
    const terms = termsOf(values, io);
    const out = values['out'] as string | undefined;
    if (out !== undefined) paperKind(out);
    const pieces = await readShopPieces('plan', operands);
    const maker = await makerOption(pieces[0].piece, values);
    if (out !== undefined) await io.outputs.claim(out);
    const jobs = await jobsOf(pieces, io);
    const plan = planDays(jobs, terms);
    // What is painted has its slab and its paint.
    const unpainted = ['idea', 'prepared'];
    const materials = materialsOf(jobs.flatMap(({ piece }) => (unpainted.includes(piece.order.state) ? [piece] : [])));
    const paper = planPaper(plan, materials, new Map(jobs.map(({ id, piece }) => [id, piece])), maker);
    if (out !== undefined) await io.outputs.write(out, await paperBytes(out, paper));
    if (values['json']) io.out(`${JSON.stringify({ terms, ...plan, materials }, null, 2)}\n`);
    else io.out(`${paperText(paper)}${out === undefined ? '' : `\nWritten to ${out}.\n`}`);
  },
};

const isWaiting = (state: string): boolean => state !== 'burned' && state !== 'delivered';

/** A piece is known by its file. */
async function jobsOf(pieces: readonly ShopPiece[], io: CliIo): Promise<PlanJob[]> {
  const progress = createProgress(io);
  const jobs: PlanJob[] = [];
  for (const [i, { path, piece, photo }] of pieces.entries()) {
    progress.show(i / pieces.length, path);
    // One that is burned already is in no plan.
    const burnMinutes = isWaiting(piece.order.state) ? await burnMinutesOf(piece, photo) : null;
    jobs.push({ id: path, piece, burnMinutes });
  }
  progress.clear();
  return jobs;
}

async function burnMinutesOf(piece: ShopPiece['piece'], photo: ShopPiece['photo']): Promise<number> {
  const opened = await photo();
  const preparation = createPreparation(true);
  return piece.passes.reduce((sum, pass) => sum + passSeconds(preparation, opened, piece, pass), 0) / 60;
}

function termsOf(values: OptionValues, io: CliIo): PlanTerms {
  const text = (name: string) => values[name] as string | undefined;
  const from = text('from') ?? new Date(io.today()).toISOString().slice(0, 10);
  if (!isDay(from)) throw new UsageError(`--from: must be a day like 2031-05-02, got "${from}"`);
  const days = numberOption('--days', text('days') ?? String(DEFAULT_TERMS.days), 1, MOST_DAYS);
  if (!Number.isInteger(days)) throw new UsageError(`--days: must be a whole number, got "${text('days')}"`);
  const change = text('change');
  return {
    from: dayOf(dayNumber(from)),
    days,
    hours: hoursOf(text('hours')),
    beginMinute: beginOf(text('begin')),
    changeMinutes: change === undefined ? DEFAULT_TERMS.changeMinutes : numberOption('--change', change, 0, 1440),
  };
}

function hoursOf(text: string | undefined): readonly number[] {
  if (text === undefined) return DEFAULT_TERMS.hours;
  const hours = text.split(',').map((part) => numberOption('--hours', part, 0, 24));
  if (hours.length !== 1 && hours.length !== 7)
    throw new UsageError(`--hours: give one number, or seven from Monday to Sunday, got "${text}"`);
  if (hours.every((one) => one === 0)) throw new UsageError('--hours: at least one day must have some');
  return hours.length === 7 ? hours : Array<number>(7).fill(hours[0]);
}

function beginOf(text: string | undefined): number {
  if (text === undefined) return DEFAULT_TERMS.beginMinute;
  const [, hour, minute] = /^(\d{1,2}):(\d{2})$/.exec(text) ?? [];
  const minutes = 60 * Number(hour) + Number(minute);
  if (!(minutes < 1440 && Number(minute) < 60)) throw new UsageError(`--begin: write it as 08:00, got "${text}"`);
  return minutes;
}
