import { CAUTION_CLOSE, CAUTIONS } from '../base/cautions.ts';
import { fitLines } from '../base/input-error.ts';
import { BATCH } from './batch-command.ts';
import { BED } from './bed-command.ts';
import { CARD } from './card-command.ts';
import { CHOOSE } from './choose-command.ts';
import { DEMO } from './demo-command.ts';
import { DIAGNOSE } from './diagnose-command.ts';
import { FIT } from './fit-command.ts';
import type { CliIo, Command } from './io.ts';
import { JOB } from './job-command.ts';
import { MOCKUP } from './mockup-command.ts';
import { type OptionSpec, type OptionValues, parseOptions, UsageError } from './options.ts';
import { createOutputs } from './outputs.ts';
import { PLAN } from './plan-command.ts';
import { PREPARE } from './prepare-command.ts';
import { PRICES } from './prices-command.ts';
import { PROOF } from './proof-command.ts';
import { QUOTE } from './quote-command.ts';
import { READ } from './read-command.ts';
import { RESCUE } from './rescue-command.ts';
import { SCREENS_COMMAND } from './screens-command.ts';
import { SHEET } from './sheet-command.ts';
import { SHELF } from './shelf-command.ts';
import { SLAB } from './slab-command.ts';
import { STRIP } from './strip-command.ts';

export const COMMANDS: readonly Command[] = [
  PROOF,
  DIAGNOSE,
  CHOOSE,
  RESCUE,
  STRIP,
  PREPARE,
  SLAB,
  JOB,
  SHEET,
  QUOTE,
  BATCH,
  PLAN,
  BED,
  PRICES,
  MOCKUP,
  CARD,
  READ,
  FIT,
  SHELF,
  SCREENS_COMMAND,
  DEMO,
];

const HELP: OptionSpec = { name: 'help', help: 'show this help' };

/** Runs one command line. Returns the exit code: 0 done, 1 could not be done, 2 the call was wrong. */
export async function run(argv: readonly string[], io: CliIo): Promise<number> {
  const [name, ...rest] = argv;
  try {
    if (name === undefined || name === '--help' || name === 'help') {
      io.out(overview());
      return name === undefined ? 2 : 0;
    }
    const command = COMMANDS.find((one) => one.name === name);
    if (!command) throw new UsageError(`there is no command "${name}"; "foreburn --help" lists them`);
    const { values, rest: operands } = parseOptions(rest, [...command.options, HELP]);
    if (values['help']) {
      io.out(commandHelp(command));
      return 0;
    }
    const failed = await runCommand(command, operands, values, io);
    for (const message of failed) io.error(`foreburn: ${fitLines(message)}\n`);
    return failed.length > 0 ? 1 : 0;
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    io.error(`foreburn: ${fitLines(message)}\n`);
    return error instanceof UsageError ? 2 : 1;
  }
}

/** Runs a command; what it tells is told once its files stand. Returns what of it failed. */
async function runCommand(
  command: Command,
  operands: string[],
  values: OptionValues,
  io: CliIo,
): Promise<readonly string[]> {
  const read = command.options.filter(({ reads }) => reads).flatMap(({ name }) => values[name] ?? []);
  const outputs = createOutputs([...(command.reads?.(operands, values) ?? operands), ...(read as string[])]);
  let told = '';
  const failed: string[] = [];
  const out = (text: string): void => {
    told += text;
  };
  try {
    await command.run(operands, values, { ...io, out, outputs, fail: (message) => failed.push(message) });
    await outputs.commit();
  } finally {
    await outputs.close();
  }
  io.out(told);
  return failed;
}

function overview(): string {
  const lines = COMMANDS.map((command) => `  ${command.name.padEnd(10)}${command.summary}`);
  return `Usage: foreburn COMMAND …\n\n${lines.join('\n')}\n\n"foreburn COMMAND --help" says more.\n`;
}

const HELP_COLUMN = 28;

export function commandHelp(command: Command): string {
  const rows = [...command.options, HELP].map(({ name, value, several, help }) => {
    const left = `--${name}${value ? ` ${value}` : ''}`;
    // What is longer than its column stands on a line of its own.
    const head = left.length < HELP_COLUMN ? left.padEnd(HELP_COLUMN) : `${left}\n  ${' '.repeat(HELP_COLUMN)}`;
    return `  ${head}${help}${several ? ' (may be repeated)' : ''}`;
  });
  return `Usage: foreburn ${command.name} ${command.operands} [options]\n\n${command.summary}\n\n${rows.join('\n')}\n${command.beam ? `\n${[...CAUTIONS, CAUTION_CLOSE].join('\n')}\n` : ''}`;
}
