import { pauseSentences } from './pause-sentences.ts';
import type { TakeUp } from './take-up.ts';

const mm = (value: number): string => value.toFixed(1);
const minutes = (seconds: number): string =>
  seconds < 60 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;

/** Which row a burn is taken up from, and what the pause does; sentences. */
export function takeUpSentences({ row, rows, fromEdgeMm, from, to, burnedS, leftS, pauseS, effect }: TakeUp): string[] {
  return [
    `Row ${row} of ${rows}, ${mm(fromEdgeMm)} mm from the edge where the burn began: it runs from X ${mm(from[0])} Y ${mm(from[1])} to X ${mm(to[0])} Y ${mm(to[1])} mm. ${minutes(burnedS)} of burning lie before it, ${minutes(leftS)} are left.`,
    pauseSentences(`A pause of ${minutes(pauseS)} before row ${row}`, effect),
  ];
}
