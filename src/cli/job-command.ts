import { createReadStream } from 'node:fs';
import { join } from 'node:path';
import { BRIEF_CAUTIONS } from '../base/cautions.ts';
import { createCoarsePipeline } from '../burn/coarse.ts';
import type { Photo } from '../burn/prepare.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { createInlineRunner } from '../burn/runner.ts';
import {
  type MachineFile,
  machineFileEnding,
  machineFiles,
  PICTURE_FORMS,
  type PictureForm,
  type ProgramPromise,
} from '../outputs/program/machine-file.ts';
import { openMachineFile } from '../outputs/program/machine-files.ts';
import { JobRefused } from '../outputs/program/refusals.ts';
import { focusWords, layingSentence } from '../outputs/program/scrap-job.ts';
import { type BrokeOff, type TakeUp, takeUp, takeUpSentences } from '../outputs/program/take-up.ts';
import { ProgramFault, ProgramVerifier } from '../outputs/program/verify/program-verifier.ts';
import { fieldOf } from '../piece/fields.ts';
import type { Control, Piece } from '../piece/schema.ts';
import { type Command, createProgress } from './io.ts';
import { BURN_OPTIONS, baseNameOf, openJob, PIECE_OPTION } from './open-job.ts';
import { CliError, numberOption, type OptionSpec, type OptionValues, quantityOption, UsageError } from './options.ts';
import { searchDots } from './search-dots.ts';

const DEFAULT_PAUSE_MIN = 30;

const FAR_MM = 10_000;

/** Options that take up a burn which broke off. */
const TAKE_UP_OPTIONS: readonly OptionSpec[] = [
  { name: 'from-row', value: 'N', help: 'a burn that broke off: only the program from row N on (rows count from 1)' },
  { name: 'from-minute', value: 'N', help: 'the same from the row that is burned after so many minutes of the pass' },
  { name: 'from-place', value: 'X,Y', help: 'the same from the row that lies there, mm as the controller shows them' },
  { name: 'of-pass', value: 'N', help: 'which pass broke off (default 1)' },
  { name: 'paused', value: 'MIN', help: `how long the burn rested, for the heat (default ${DEFAULT_PAUSE_MIN})` },
];

/** What is asked for with them. */
interface TakeUpWish {
  readonly at: BrokeOff;
  readonly pass: number;
  readonly pauseS: number;
}

/** Null where no burn is to be taken up. @throws UsageError */
function takeUpWish(values: OptionValues): TakeUpWish | null {
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
async function findTakeUp(piece: Piece, photo: Photo, { at, pass, pauseS }: TakeUpWish): Promise<TakeUp> {
  if (pass >= piece.passes.length) throw new CliError(`--of-pass: there is no pass ${pass + 1}`);
  const runner = createInlineRunner();
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

const KINDS: Readonly<Record<string, readonly MachineFile['kind'][]>> = {
  job: ['pass'],
  walk: ['walk'],
  mark: ['mark'],
  picture: ['picture'],
  drawing: ['drawing'],
};

export const JOB: Command = {
  name: 'job',
  operands: '[PHOTO]',
  beam: true,
  summary: 'Write what the machine gets: a program (G-code) per pass, perimeter walks, pictures and a drawing.',
  options: [
    PIECE_OPTION,
    { name: 'out', value: 'DIR', help: "where to write (default: the photograph's name with -job)" },
    { name: 'only', value: 'KIND', several: true, help: `nothing but ${list(Object.keys(KINDS))}` },
    { name: 'power-scale', value: 'N', help: 'value of the word S at full power' },
    { name: 'power-limit', value: 'PCT', help: 'share of full power that is never exceeded' },
    { name: 'units', value: 'UNIT', help: 'mm or inch' },
    { name: 'decimals', value: 'N', help: 'decimal places of positions (default: 3, or 4 with --units inch)' },
    {
      name: 'beam',
      value: 'HOW',
      help: 'laser-on code: holds-power (M3) or follows-speed (M4), if your controller reads them so: see its manual',
    },
    { name: 'park', value: 'PLACE', help: 'picture-centre, bed-corner or stay' },
    { name: 'form', value: 'FORM', help: `of the pictures: ${list(PICTURE_FORMS)} (bits of a pixel)` },
    { name: 'negative', help: 'pictures black where the beam is strongest' },
    ...TAKE_UP_OPTIONS,
    ...BURN_OPTIONS.filter(({ name }) => name !== 'flat-film' && name !== 'cold'),
    { name: 'json', help: 'print names, sizes, times and SHA-256 of the files' },
  ],
  async run(operands, values, io) {
    const kinds = kindsOf(values);
    const wish = takeUpWish(values);
    const control = controlOf(values);
    const form = (oneOf('--form', values['form'], PICTURE_FORMS) ?? 'dots-8') as PictureForm;
    const baseName = baseNameOf(operands, values);
    const folder = (values['out'] as string | undefined) ?? `${baseName}-job`;
    const claim = () => io.outputs.claimFolder(folder);
    const { piece: opened, photo } = await openJob('job', operands, values, claim);
    const piece: Piece = {
      ...opened,
      machine: { ...opened.machine, control: { ...opened.machine.control, ...control } },
    };
    const progress = createProgress(io);
    const files: Record<string, unknown>[] = [];
    const cautions = new Set<string>();
    await searchDots(piece, photo, io);
    const found = wish && (await findTakeUp(piece, photo, wish));
    const wanted: MachineFile[] =
      wish && found
        ? [{ kind: 'pass', index: wish.pass, fromRow: found.row }]
        : machineFiles(piece, form, values['negative'] === true);
    for (const file of wanted) {
      if (!kinds.includes(file.kind)) continue;
      progress.show(0, file.kind);
      const made = await openMachineFile(file, piece, photo).catch((error: unknown) => {
        progress.clear();
        throw error instanceof JobRefused
          ? new CliError(error.refusals.map(({ message }) => message).join('\n'))
          : error;
      });
      const name = `${baseName}-${machineFileEnding(file)}`;
      const path = join(folder, name);
      const onShare = (share: number) => progress.show(share, name);
      const check = made.promise ? (at: string) => readBack(at, path, made.promise!) : undefined;
      const written = await io.outputs.write(path, made.parts, { onShare, check }).finally(progress.clear);
      for (const caution of made.cautions) cautions.add(caution);
      files.push({ kind: file.kind, name, path, ...written, timeS: made.timeS });
      if (!values['json'])
        io.out(
          `${path}: ${size(written.bytes)}${made.timeS === null ? '' : `, ${minutes(made.timeS)}`}${file.kind === 'pass' ? `, focus ${focusWords(piece.passes[file.index])}` : ''}\n`,
        );
    }
    const report = { files, cautions: [...cautions], ...(found && { takenUp: found }) };
    const sentences = found ? takeUpSentences(found) : [layingSentence(piece, 'slab')];
    if (values['json']) io.out(`${JSON.stringify(report, null, 2)}\n`);
    else io.out(`${[...sentences, ...cautions, ...BRIEF_CAUTIONS].join('\n')}\n`);
  },
};

function kindsOf(values: OptionValues): readonly MachineFile['kind'][] {
  const named = (values['only'] as string[] | undefined) ?? Object.keys(KINDS);
  return named.flatMap((name) => {
    if (!Object.hasOwn(KINDS, name))
      throw new UsageError(`--only: must be one of ${list(Object.keys(KINDS))}, got "${name}"`);
    return KINDS[name];
  });
}

function controlOf(values: OptionValues): Partial<Control> {
  const scale = values['power-scale'] as string | undefined;
  const limit = values['power-limit'] as string | undefined;
  const decimals = values['decimals'] as string | undefined;
  const units = oneOf('--units', values['units'], ['mm', 'inch'] as const);
  const beam = oneOf('--beam', values['beam'], ['holds-power', 'follows-speed'] as const);
  const park = oneOf('--park', values['park'], ['picture-centre', 'bed-corner', 'stay'] as const);
  return {
    ...(scale !== undefined && {
      powerScale: quantityOption('--power-scale', scale, fieldOf('machine.control.powerScale')),
    }),
    ...(limit !== undefined && {
      powerLimit: quantityOption('--power-limit', limit, fieldOf('machine.control.powerLimit')),
    }),
    ...(units && { units, decimals: units === 'inch' ? 4 : 3 }),
    ...(decimals !== undefined && {
      decimals: quantityOption('--decimals', decimals, fieldOf('machine.control.decimals')),
    }),
    ...(beam && { beam }),
    ...(park && { park }),
  };
}

function oneOf<Word extends string>(option: string, value: OptionValues[string], words: readonly Word[]): Word | null {
  if (value === undefined) return null;
  const found = words.find((word) => word === value);
  if (!found) throw new UsageError(`${option}: must be one of ${list(words)}, got "${value}"`);
  return found;
}

function list(words: readonly string[]): string {
  return `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;
}

const size = (bytes: number): string =>
  bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;

const minutes = (seconds: number): string =>
  seconds < 60 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;

/**
 * Reads a program from the disk, where it has not got its name yet, and holds it against what was promised.
 * @throws CliError that names the file and the line.
 */
export async function readBack(path: string, name: string, promise: ProgramPromise): Promise<void> {
  await readBackBy(path, name, new ProgramVerifier(promise));
}

/** The same with a verifier of whoever asks. */
export async function readBackBy(
  path: string,
  name: string,
  verifier: Pick<ProgramVerifier, 'push' | 'finish'>,
): Promise<void> {
  try {
    for await (const bytes of createReadStream(path)) verifier.push(bytes);
    verifier.finish();
  } catch (error) {
    if (!(error instanceof ProgramFault))
      throw new CliError(`${name} cannot be read back: ${(error as Error).message}`);
    throw new CliError(
      `${name} was read back from the disk and is not the program it must be (${error.message}). It was not kept; write it again, and check the disk if this comes again.`,
    );
  }
}
