import { createCoarsePipeline } from '../burn/coarse.ts';
import { createGpuJsBackend } from '../burn/kernel/gpu-js.ts';
import type { Photo } from '../burn/prepare.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { createInlineRunner } from '../burn/runner.ts';
import { JobRefused } from '../outputs/program/mend.ts';
import { type BrokeOff, type TakeUp, takeUp } from '../outputs/program/take-up.ts';
import type { Piece } from '../piece/schema.ts';
import { CliError, UsageError } from './faults.ts';
import { numberOption, type OptionSpec, type OptionValues } from './options.ts';

const DEFAULT_PAUSE_MIN = 30;
const FAR_MM = 10_000;

/** Options that take up a burn which broke off. */
export const TAKE_UP_OPTIONS: readonly OptionSpec[] = [
  { name: 'from-row', value: 'N', help: 'a burn that broke off: only the program from row N on (rows count from 1)' },
  { name: 'from-minute', value: 'N', help: 'the same from the row that is burned after so many minutes of the pass' },
  { name: 'from-place', value: 'X,Y', help: 'the same from the row that lies there, mm as the controller shows them' },
  { name: 'of-pass', value: 'N', help: 'which pass broke off (default 1)' },
  { name: 'paused', value: 'MIN', help: `how long the burn rested, for the heat (default ${DEFAULT_PAUSE_MIN})` },
];

/** What is asked for with them. */
export interface TakeUpWish {
  readonly at: BrokeOff;
  readonly pass: number;
  readonly pauseS: number;
}

/** Null where no burn is to be taken up. @throws UsageError */
export function takeUpWish(values: OptionValues): TakeUpWish | null {
  const text = (name: string) => values[name] as string | undefined;
  const given = ['from-row', 'from-minute', 'from-place'].filter((name) => text(name) !== undefined);
  if (given.length > 1) throw new UsageError(`give one of ${given.map((name) => `--${name}`).join(' and ')}`);
  const [name] = given;
  if (!name) {
    const idle = ['of-pass', 'paused'].find((other) => text(other) !== undefined);
    if (idle) throw new UsageError(`--${idle} goes with --from-row, --from-minute or --from-place`);
    return null;
  }
  return {
    at: brokeOff(name, text(name)!),
    pass: wholeOption('--of-pass', text('of-pass') ?? '1', 12) - 1,
    pauseS: 60 * numberOption('--paused', text('paused') ?? `${DEFAULT_PAUSE_MIN}`, 0, 100_000),
  };
}

function brokeOff(name: string, text: string): BrokeOff {
  if (name === 'from-row') return { kind: 'row', row: wholeOption('--from-row', text, 1_000_000) };
  if (name === 'from-minute') return { kind: 'minute', minute: numberOption('--from-minute', text, 0, 100_000) };
  const [x, y, ...more] = text.split(',');
  if (y === undefined || more.length > 0) throw new UsageError(`--from-place: write it as 120.5,214.7, got "${text}"`);
  const [xMm, yMm] = [x, y].map((part) => numberOption('--from-place', part, -FAR_MM, FAR_MM));
  return { kind: 'place', xMm, yMm };
}

function wholeOption(name: string, text: string, high: number): number {
  const value = numberOption(name, text, 1, high);
  if (!Number.isInteger(value)) throw new UsageError(`${name}: must be a whole number, got "${text}"`);
  return value;
}

/** @throws CliError where there is no such pass or row. */
export async function findTakeUp(piece: Piece, photo: Photo, { at, pass, pauseS }: TakeUpWish): Promise<TakeUp> {
  if (pass >= piece.passes.length) throw new CliError(`--of-pass: there is no pass ${pass + 1}`);
  const runner = createInlineRunner(await createGpuJsBackend('cpu', 'pause'));
  try {
    const { appearance } = createProofPipeline();
    return await takeUp(piece, photo, pass, at, pauseS, { coarse: createCoarsePipeline(), appearance, runner });
  } catch (error) {
    if (error instanceof JobRefused) throw new CliError(error.message);
    throw error;
  } finally {
    runner.dispose();
  }
}
