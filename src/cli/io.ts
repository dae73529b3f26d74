import type { OptionSpec, OptionValues } from './options.ts';
import type { Outputs } from './outputs.ts';

/** What a command may use of the outside; tests pass their own. */
export interface CliIo {
  readonly out: (text: string) => void;
  readonly error: (text: string) => void;
  /** True if progress may be drawn on the error stream. */
  readonly terminal: boolean;
  /** Milliseconds of a steady clock. */
  readonly now: () => number;
  /** Today, ms since 1970 as `Date` has it. */
  readonly today: () => number;
}

/** What a command is run with: it tells when its files stand, not before. */
export interface CommandIo extends CliIo {
  readonly outputs: Outputs;
  /** Part of what was asked could not be done: what was done stands, and the run ends with 1 and this sentence. */
  readonly fail: (message: string) => void;
}

export interface Command {
  readonly name: string;
  /** What stands after the name, as in `PHOTO`. */
  readonly operands: string;
  readonly summary: string;
  /** A beam is one step away from what it writes or says: it prints the cautions. */
  readonly beam?: true;
  readonly options: readonly OptionSpec[];
  /** Which files are read besides those that options name (default: all operands). */
  readonly reads?: (operands: readonly string[], values: OptionValues) => readonly string[];
  readonly run: (operands: string[], values: OptionValues, io: CommandIo) => Promise<void>;
}

/** One line on a terminal that says what is being done; nothing in a pipe. */
export function createProgress(io: CliIo): { show: (share: number, stage: string) => void; clear: () => void } {
  if (!io.terminal) return { show: () => {}, clear: () => {} };
  const erase = '\r\u001b[K';
  return {
    show: (share, stage) => io.error(`${erase}${stage} ${Math.round(100 * share)} %`),
    clear: () => io.error(erase),
  };
}
