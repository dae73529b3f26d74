import { BRIEF_CAUTIONS } from '../../base/cautions.ts';
import type { Point } from '../../base/geometry/outline.ts';
import { MM_PER_INCH, mmPerSToMmPerMin } from '../../base/units.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import type { PassRaster } from '../../physics/raster/pass-raster.ts';
import type { Control, Piece } from '../../piece/schema.ts';

interface ProgramFrame {
  readonly piece: Piece;
  /** What the program does, a line each; cut off where too long. */
  readonly titles: readonly string[];
  readonly sDecimals: number;
  /** Feed of the beam's work, mm/s. */
  readonly feedMmPerS: number;
  /** Where the work begins on the bed, mm. */
  readonly start: readonly [number, number];
  /** Never allowed at all where false. */
  readonly beam: boolean;
}

/** A program from its first line, which switches the beam off, to where the work begins, with the beam allowed at no power. */
export function openProgram({ piece, titles, sDecimals, feedMmPerS, start, beam }: ProgramFrame): ProgramWriter {
  const { control } = piece.machine;
  const writer = new ProgramWriter(control, sDecimals, zeroOnBed(piece));
  writer.line('M5');
  writer.line(`G${control.units === 'inch' ? 20 : 21} G90 G94`);
  for (const title of [...titles, ...BRIEF_CAUTIONS]) writer.comment(title);
  if (control.zero === 'picture-centre') writer.line('G92 X0 Y0');
  for (const line of extraLines(control.startWords)) writer.line(line);
  writer.feed(feedMmPerS);
  if (beam && !control.powerAtRest) writer.travel(start[0], start[1], 0);
  else writer.rapid(start[0], start[1]);
  if (beam) writer.allowBeam();
  return writer;
}

/** The place on the bed that the program's positions count from, mm. */
export const zeroOnBed = (piece: Piece): Point =>
  piece.machine.control.zero === 'picture-centre' ? pictureCentre(piece) : [0, 0];

/** Beam off, head to where it parks, end. What comes before must have left S at 0. */
export function closeProgram(writer: ProgramWriter, piece: Piece): void {
  const { control } = piece.machine;
  writer.line('M5');
  const [x, y] = control.park === 'bed-corner' ? [0, 0] : pictureCentre(piece);
  if (control.park !== 'stay') writer.rapid(x, y);
  for (const line of extraLines(control.endWords)) writer.line(line);
  if (control.zero === 'picture-centre') writer.line('G92.1');
  writer.line('M2');
}

const CODE = { zero: 48, point: 46, minus: 45, newline: 10, F: 70, G: 71, S: 83, X: 88, Y: 89 } as const;

/** Room that one line of motion needs at most. */
const LINE_BYTES = 96;

const NEVER = Number.NaN;

/**
 * Writes lines of RS-274/NGC into bytes and leaves out what still holds from the lines before: motion word, positions, power. Power
 * belongs to moves: a move of no length lets out no light and changes no power, and before anything that stops the head the last move
 * must have been a dark one.
 */
export class ProgramWriter {
  readonly #control: Control;
  readonly #sDecimals: number;
  readonly #perMm: number;
  readonly #zero: Point;
  #bytes = new Uint8Array(1 << 17);
  #length = 0;
  #mode = -1;
  #x = NEVER;
  #y = NEVER;
  #s = NEVER;
  #feed: number | null = null;

  /** `zero`: the place on the bed that positions count from, mm. */
  constructor(control: Control, sDecimals: number, zero: Point) {
    this.#control = control;
    this.#sDecimals = sDecimals;
    this.#perMm = 10 ** control.decimals / (control.units === 'inch' ? MM_PER_INCH : 1);
    this.#zero = zero;
  }

  get length(): number {
    return this.#length;
  }

  /** What has been written since it was last taken. */
  take(): Uint8Array<ArrayBuffer> {
    const taken = this.#bytes.slice(0, this.#length);
    this.#length = 0;
    return taken;
  }

  /** A line of its own, for which the head may stop; printable ASCII only. @throws Error if it would stop with the beam on. */
  line(text: string): void {
    this.#mustBeDark();
    this.#reserve(text.length + 1);
    for (let i = 0; i < text.length; i++) this.#bytes[this.#length++] = text.charCodeAt(i);
    this.#bytes[this.#length++] = CODE.newline;
  }

  comment(text: string): void {
    this.line(`(${plainComment(text)})`);
  }

  /** Allows the beam, at no power. What comes before it must have set S0 with a motion, unless S0 may stand here. */
  allowBeam(): void {
    const word = this.#control.beam === 'holds-power' ? 'M3' : 'M4';
    this.line(this.#control.powerAtRest ? `${word} S0` : word);
    this.#s = 0;
  }

  /** The feed of what follows, mm/s; rounded down. */
  feed(mmPerS: number): void {
    const inch = this.#control.units === 'inch';
    this.#feed = Math.floor((mmPerSToMmPerMin(mmPerS) / (inch ? MM_PER_INCH : 1)) * (inch ? 1000 : 10) + 1e-6);
  }

  /** To a place on the bed, mm, as fast as the machine can, without beam. @throws Error if the head would stop with the beam on. */
  rapid(xMm: number, yMm: number): void {
    this.#mustBeDark();
    this.#move(0, xMm, yMm, 0);
  }

  /** To a place on the bed, mm, at the feed, with so many steps of power. */
  travel(xMm: number, yMm: number, steps: number): void {
    this.#move(1, xMm, yMm, steps);
  }

  #mustBeDark(): void {
    if (this.#s > 0) throw new Error('the head would stop with the beam on');
  }

  #move(mode: number, xMm: number, yMm: number, steps: number): void {
    const x = Math.round((xMm - this.#zero[0]) * this.#perMm);
    const y = Math.round((yMm - this.#zero[1]) * this.#perMm);
    if (x === this.#x && y === this.#y) return;
    this.#reserve(LINE_BYTES);
    if (mode !== this.#mode) {
      this.#bytes[this.#length++] = CODE.G;
      this.#bytes[this.#length++] = CODE.zero + mode;
    }
    const { decimals } = this.#control;
    if (x !== this.#x) this.#word(CODE.X, x, decimals);
    if (y !== this.#y) this.#word(CODE.Y, y, decimals);
    if (mode === 1 && this.#feed !== null) {
      this.#word(CODE.F, this.#feed, this.#control.units === 'inch' ? 3 : 1);
      this.#feed = null;
    }
    if (steps !== this.#s) {
      this.#word(CODE.S, steps, this.#sDecimals);
      this.#s = steps;
    }
    this.#bytes[this.#length++] = CODE.newline;
    this.#mode = mode;
    this.#x = x;
    this.#y = y;
  }

  /** A letter and `value · 10^−decimals` without needless zeros. */
  #word(letter: number, value: number, decimals: number): void {
    const bytes = this.#bytes;
    bytes[this.#length++] = letter;
    if (value < 0) bytes[this.#length++] = CODE.minus;
    let rest = Math.abs(value);
    let places = decimals;
    while (places > 0 && rest % 10 === 0) {
      rest /= 10;
      places--;
    }
    let digits = places + 1;
    for (let power = 10 ** digits; rest >= power; power *= 10) digits++;
    let at = this.#length + digits + (places > 0 ? 1 : 0);
    this.#length = at;
    for (let i = 0; i < digits; i++) {
      if (i === places && places > 0) bytes[--at] = CODE.point;
      const tenth = Math.floor(rest / 10);
      bytes[--at] = CODE.zero + rest - 10 * tenth;
      rest = tenth;
    }
  }

  #reserve(bytes: number): void {
    if (this.#length + bytes <= this.#bytes.length) return;
    const larger = new Uint8Array(2 * this.#bytes.length + bytes);
    larger.set(this.#bytes.subarray(0, this.#length));
    this.#bytes = larger;
  }
}

/** Where a pass's raster lies on the bed, mm: place (u, v) in dots is at `origin + u · along + v · across`. */
interface BedMap {
  readonly origin: Point;
  readonly along: Point;
  readonly across: Point;
}

const snap = (value: number): number => (Math.abs(value - Math.round(value)) < 1e-9 ? Math.round(value) : value);

/** The picture's centre on the bed, mm. */
export const pictureCentre = ({ placement, picture }: Pick<Piece, 'placement' | 'picture'>): Point =>
  slabToBed(placement, [picture.offsetXMm, picture.offsetYMm]);

/** A raster turns about the picture's centre with its heading and with the slab. */
export function createBedMap(piece: Pick<Piece, 'placement' | 'picture'>, raster: PassRaster): BedMap {
  const turn = raster.headingRad + piece.placement.turnRad;
  const cosine = snap(Math.cos(turn));
  const sine = snap(Math.sin(turn));
  const { pitchMm, columns, rows } = raster;
  const along = [pitchMm * cosine, pitchMm * sine] as const;
  const across = [pitchMm * sine, -pitchMm * cosine] as const;
  const [x, y] = pictureCentre(piece);
  return {
    along,
    across,
    origin: [
      x - (columns / 2) * along[0] - (rows / 2) * across[0],
      y - (columns / 2) * along[1] - (rows / 2) * across[1],
    ],
  };
}

export const onBed = ({ origin, along, across }: BedMap, u: number, v: number): [number, number] => [
  origin[0] + u * along[0] + v * across[0],
  origin[1] + u * along[1] + v * across[1],
];

/** Longest line of a program. Common practice, no published source: small controllers keep little more of a line. */
const LONGEST_LINE = 80;

/**
 * What may stand between the brackets of a comment: accents and signs go, because some controllers act upon a sign at once wherever it
 * stands (common practice, no published source), and what is too long is cut off.
 */
function plainComment(text: string): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}+/gu, '')
    .replace(/\s+/g, ' ')
    .replace(/[^A-Za-z0-9 .,:+/-]+/g, '-')
    .slice(0, LONGEST_LINE - 2)
    .trim();
}

/**
 * Words that lines of the maker's own may hold, after NISTIR 6556 (Kramer, Proctor, Messina, 2000), tables 4 to 7: nothing that moves
 * the head, allows the beam or changes what positions mean. G4 waits, M0 and M1 stop for the maker, M7 to M9 switch coolant, which on
 * these machines is mostly air.
 */
const GROUPS: Readonly<Record<string, string>> = {
  G4: 'wait',
  G61: 'path',
  'G61.1': 'path',
  G64: 'path',
  M0: 'stop',
  M1: 'stop',
  M7: 'air',
  M8: 'air',
  M9: 'air',
  M48: 'overrides',
  M49: 'overrides',
};

const LINES_HINT = 'G4 P… to wait, M7, M8 and M9 for air, M0 and M1 to stop, G61 and G64, M48 and M49';

/** Signs that a byte of a program cannot hold, or that do something at once. */
const STRANGE = /[^\t\x20-\x7e]/gu;

type Parsed = { readonly lines: readonly string[] } | { readonly fault: string };

/** The maker's lines, put together anew from the words that were known in them. @throws Error that names what is wrong. */
export function extraLines(text: string): readonly string[] {
  const parsed = parse(text);
  if ('fault' in parsed) throw new Error(parsed.fault);
  return parsed.lines;
}

/** What is wrong with the maker's lines, as a sentence; null if nothing is. */
export function extraWordsFault(text: string): string | null {
  const parsed = parse(text);
  return 'fault' in parsed ? parsed.fault : null;
}

function parse(text: string): Parsed {
  const lines: string[] = [];
  for (const [i, line] of text.split(/\r?\n|[;|]/).entries()) {
    const read = parseLine(line);
    if ('fault' in read)
      return {
        fault: `line ${i + 1}${line.length <= LONGEST_LINE ? ` "${line.trim().replace(STRANGE, '?')}"` : ''}: ${read.fault}`,
      };
    lines.push(...read.lines);
  }
  return { lines };
}

function parseLine(line: string): Parsed {
  const [strange] = line.match(STRANGE) ?? [];
  if (strange) {
    const code = strange.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0');
    return { fault: `the sign U+${code} is no plain letter, digit or space; write the line anew by hand` };
  }
  if (/[()]/.test(line)) return { fault: 'comments in brackets may not stand there' };
  const words = (line.toUpperCase().match(/[A-Z]\s*[-+]?\d*\.?\d+|\S+/g) ?? []).map(tidy);
  const seen = new Set<string>();
  for (const word of words) {
    const group = GROUPS[word] ?? (/^P\d*\.?\d+$/.test(word) ? 'seconds' : null);
    if (!group) return { fault: `${word} may not stand there: only ${LINES_HINT} may` };
    if (seen.has(group)) return { fault: 'two words of one kind; write one to a line' };
    seen.add(group);
  }
  if (seen.has('seconds') !== seen.has('wait')) return { fault: 'G4 and P (seconds) belong together' };
  const tidied = words.join(' ');
  if (tidied.length > LONGEST_LINE) return { fault: `longer than ${LONGEST_LINE} letters` };
  return { lines: tidied ? [tidied] : [] };
}

/** `g04` and `G 4` are G4. */
const tidy = (word: string): string => word.replace(/\s+/g, '').replace(/^([A-Z])0+(?=\d)/, '$1');
