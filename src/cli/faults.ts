import { fitLines, InputError } from '../base/input-error.ts';
/** The call was wrong: exit code 2. */
export class UsageError extends InputError {}

/** The call was right and could not be done: exit code 1. The message names the file and the reason. */
export class CliError extends InputError {
  constructor(message: string) {
    super(message, fitLines);
  }
}
