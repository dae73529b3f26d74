import { LIMITS } from './limits.ts';

/** What came in from outside cannot be used. The message is for the maker: it fits, whatever it quotes. */
export class InputError extends Error {
  constructor(message: string) {
    super(fitMessage(message));
    this.name = new.target.name;
  }
}

/**
 * A message as it may be shown: every line of it no longer than the limit, long quotations cut, and nothing in it that a terminal would
 * act upon.
 */
export const fitMessage = (message: string): string => message.split('\n').map(fitLine).join('\n');

const fitLine = (line: string): string =>
  cut(line.replace(/\p{Cc}/gu, '\ufffd').replace(/"[^"]*"|“[^”]*”/g, fitQuotation), LIMITS.message);

const fitQuotation = (quoted: string): string =>
  quoted.charAt(0) + cut(quoted.slice(1, -1), LIMITS.quoted) + quoted.charAt(quoted.length - 1);

/** The beginning of a text, with a sign that more follows; no character is torn. */
export function cut(text: string, most: number): string {
  if (text.length <= most) return text;
  return `${text.slice(0, most - 1).replace(/[\ud800-\udbff]$/, '')}…`;
}

/** As many of the problems as a message holds, then how many more there are. At least one. */
export function fitProblems(problems: readonly string[], count = problems.length): string[] {
  const fitting: string[] = [];
  let room: number = LIMITS.message - 20;
  for (const problem of problems) {
    const short = fitLine(problem);
    if (fitting.length > 0 && short.length > room) break;
    fitting.push(short);
    room -= short.length + 2;
  }
  const more = count - fitting.length;
  return more > 0 ? [...fitting, `and ${more} more`] : fitting;
}
