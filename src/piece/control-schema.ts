import * as z from '../base/zod.ts';
import { number, share, text, whole } from './fields.ts';

/** Below 1 the steps between powers are finer than controllers read, and nearly every power would be written as nothing. */
export const POWER_SCALE = { least: 1, most: 1_000_000 } as const;

/**
 * How the machine's controller wants its program: words of RS-274/NGC (NISTIR 6556), positions from where, and where the head goes at
 * the end. Says nothing about what the burn looks like, but for `correctRowOffset`.
 */
export const controlSchema = z.strictObject({
  /** Value of the word S at full power. */
  powerScale: number(POWER_SCALE.least, POWER_SCALE.most),
  units: z.enum(['mm', 'inch']),
  /** Decimal places of positions. */
  decimals: whole(1, 6),
  /** Code that allows the beam: M3, with which power is held, or M4, with which it follows the speed, where the controller reads them so. */
  beam: z.enum(['holds-power', 'follows-speed']),
  /** Share of full power that no word ever exceeds. */
  powerLimit: share,
  /** A line without motion may say S0; else S comes with motion only. */
  powerAtRest: z.boolean(),
  /** Where positions count from: the bed's near left corner, or the picture's centre, where the head then stands at the start. */
  zero: z.enum(['bed-corner', 'picture-centre']),
  park: z.enum(['picture-centre', 'bed-corner', 'stay']),
  /** Lines of the controller's own, such as air on and off; what they may hold is in `outputs/program/extra-words.ts`. */
  startWords: text,
  endWords: text,
  /** Rows burned backwards are moved back by the pass's row offset error, so that it does not show. */
  correctRowOffset: z.boolean(),
});

export type Control = z.infer<typeof controlSchema>;

/** Safe with most controllers: the beam off at rest even where one forgets to say so, and a second pass finds the first. */
export const DEFAULT_CONTROL: Control = {
  powerScale: 1000,
  units: 'mm',
  decimals: 3,
  beam: 'follows-speed',
  powerLimit: 1,
  powerAtRest: true,
  zero: 'bed-corner',
  park: 'picture-centre',
  startWords: '',
  endWords: '',
  correctRowOffset: false,
};
