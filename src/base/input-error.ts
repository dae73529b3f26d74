/** What came in from outside cannot be used. The message is for the maker: it fits into one line, whatever it quotes. */
export class InputError extends Error {
  constructor(message: string, inOrder: (message: string) => string = fitMessage) {
    super(inOrder(message));
    this.name = new.target.name;
  }
}

/** A message of several lines, each of which fits. */
export const fitLines = (message: string): string => message.split('\n').map(fitMessage).join('\n');

/**
 * A message as it may be shown: long quotations cut, nothing in it that a terminal would act upon (line breaks in what is quoted are
 * that too), and no longer than the limit. What is too much is taken out of the middle: a name stands at the beginning, the way out at
 * the end.
 */
export function fitMessage(message: string): string {
  const line = message.replace(/\p{Cc}/gu, '\ufffd').replace(/"[^"]*"|“[^”]*”/g, fitQuotation);
  if (line.length <= LIMITS.message) return line;
  const head = Math.floor(LIMITS.message / 3);
  return cut(line, head) + line.slice(line.length - (LIMITS.message - head)).replace(/^[\udc00-\udfff]/, '');
}

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
    const short = fitMessage(problem);
    if (fitting.length > 0 && short.length > room) break;
    fitting.push(short);
    room -= short.length + 2;
  }
  const more = count - fitting.length;
  return more > 0 ? [...fitting, `and ${more} more`] : fitting;
}

/**
 * How much is taken in from outside: stated before anything is decoded, the same on the page and on the command line. What is beyond
 * is refused with a sentence. README.md and DEVELOPERS.md repeat the numbers that matter to people.
 */
const MIB = 1 << 20;

export const LIMITS = {
  /** A photograph as it is stored: pixels, and bytes of its file. A burn shows at most some twelve dots per millimetre. */
  pixels: 64e6,
  pictureBytes: 256 * MIB,
  /** A piece with its pictures, packed and unpacked alike. */
  pieceBytes: 256 * MIB,
  /** Files in a piece, and letters of one's name with its folder. */
  zipEntries: 1000,
  pathLength: 255,
  /** JSON: piece, card, reading, shelf. `values` counts lists, objects, numbers and words together. */
  documentBytes: 32 * MIB,
  nesting: 64,
  listLength: 10_000,
  values: 1_000_000,
  /** An outline drawn elsewhere: bytes of its text, points once its curves are straight pieces, and how far out one may lie, mm. */
  drawingBytes: 8 * MIB,
  outlinePoints: 10_000,
  drawingReachMm: 100_000,
  /** Characters of a message to the maker, and of what it quotes. */
  message: 300,
  quoted: 60,
} as const;

/** A number of bytes as it is said. */
export const inMiB = (bytes: number): string => `${bytes / MIB} MiB`;
