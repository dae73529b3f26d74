import { fitMessage } from '../input-error.ts';

/** An outline that was drawn elsewhere cannot be read; the message fits, whatever it quotes. */
export class OutlineError extends RangeError {
  constructor(message: string) {
    super(fitMessage(message));
  }
}
