import { fitLines, InputError } from '../core/input-error.ts';
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
}

/** The call was wrong: exit code 2. */
export class UsageError extends InputError {}
/** The call was right and could not be done: exit code 1. The message names the file and the reason. */
export class CliError extends InputError {
  constructor(message: string) {
    super(message, fitLines);
  }
}
