/**
 * Reads programs of RS-274/NGC and runs them: an independent check of what the project writes, sharing no code with it.
 * Grammar, modal groups (table 4) and order of execution (table 8) after Kramer, Proctor, Messina, "The NIST RS274NGC Interpreter –
 * Version 3", NISTIR 6556 (2000). Only words that a burn may need are known; any other is an error. Motion is a trapezoid from rest to
 * rest over each stretch that goes straight on in one mode and at one feed; G0 goes at the machine's fastest feed.
 */
export interface Motion {
  readonly rapid: boolean;
  /** mm, in the machine's own coordinates. */
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
  readonly feedMmPerS: number;
  /** What S says (NaN until it is said), and whether M3 or M4 lets the beam out. */
  readonly s: number;
  readonly beam: 'off' | 'M3' | 'M4';
  readonly line: number;
}

/** Something that happens while the head rests. */
export interface Rest {
  readonly word: string;
  readonly s: number;
  readonly beam: Motion['beam'];
  readonly line: number;
}

export interface Program {
  readonly motions: readonly Motion[];
  readonly rests: readonly Rest[];
  readonly lines: readonly string[];
  readonly end: readonly [number, number];
}

const MODAL_GROUPS: Readonly<Record<string, string>> = {
  G0: 'motion',
  G1: 'motion',
  G17: 'plane',
  G18: 'plane',
  G19: 'plane',
  G90: 'distance',
  G91: 'distance',
  G93: 'feed mode',
  G94: 'feed mode',
  G20: 'units',
  G21: 'units',
  G61: 'path',
  'G61.1': 'path',
  G64: 'path',
  G4: 'non-modal',
  G92: 'non-modal',
  'G92.1': 'non-modal',
  'G92.2': 'non-modal',
  M0: 'stopping',
  M1: 'stopping',
  M2: 'stopping',
  M30: 'stopping',
  M3: 'spindle',
  M4: 'spindle',
  M5: 'spindle',
  M7: 'coolant',
  M8: 'coolant',
  M9: 'coolant',
  M48: 'overrides',
  M49: 'overrides',
};
const LETTERS = 'ABCDFGHIJKLMNPQRSTXYZ';
const LONGEST_LINE = 256;
const MOST_M_WORDS = 4;

interface Block {
  readonly codes: ReadonlySet<string>;
  readonly values: ReadonlyMap<string, number>;
}

/** @throws Error that names the line. */
export function parseBlock(line: string, number: number): Block {
  const fail = (why: string): never => {
    throw new Error(`line ${number} "${line}": ${why}`);
  };
  if (line.length > LONGEST_LINE) fail('longer than 256 characters');
  let rest = line;
  for (let open = rest.indexOf('('); open >= 0; open = rest.indexOf('(')) {
    const close = rest.indexOf(')', open);
    if (close < 0 || rest.slice(open + 1, close).includes('(')) fail('a comment that does not end, or one in another');
    rest = rest.slice(0, open) + rest.slice(close + 1);
  }
  if (rest.includes(')')) fail('a comment that does not begin');
  rest = rest.replace(/[ \t]/g, '').toUpperCase();
  const codes = new Set<string>();
  const groups = new Set<string>();
  const values = new Map<string, number>();
  let mWords = 0;
  const word = /([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))/y;
  while (word.lastIndex < rest.length) {
    const from = word.lastIndex;
    const match = word.exec(rest);
    if (!match) fail(`"${rest.slice(from)}" is no word`);
    const [, letter, digits] = match!;
    if (!LETTERS.includes(letter)) fail(`no word begins with ${letter}`);
    if (letter === 'G' || letter === 'M') {
      const code = `${letter}${Number(digits)}`;
      const group = MODAL_GROUPS[code];
      if (!group) fail(`${code} is not known`);
      if (groups.has(group)) fail(`two words of the group ${group}`);
      if (letter === 'M' && ++mWords > MOST_M_WORDS) fail('more than four M words');
      groups.add(group);
      codes.add(code);
    } else {
      if (values.has(letter)) fail(`${letter} twice`);
      values.set(letter, Number(digits));
    }
  }
  if (codes.has('G0') || codes.has('G1')) {
    if (codes.has('G92')) fail('motion and G92 both want the axes');
  }
  if (codes.has('G4') !== values.has('P')) fail('G4 and P belong together');
  for (const letter of values.keys()) if (!'FNPSXY'.includes(letter)) fail(`${letter} has no use here`);
  return { codes, values };
}

/** @param start where the head stands before, mm. @throws Error that names the line. */
export function readProgram(text: string, start: readonly [number, number] = [0, 0]): Program {
  const lines = text.split('\n');
  if (lines.pop() !== '') throw new Error('the last line does not end');
  const motions: Motion[] = [];
  const rests: Rest[] = [];
  let at: [number, number] = [start[0], start[1]];
  let offset: [number, number] = [0, 0];
  let unitMm = 1;
  let absolute = true;
  let perMinute = true;
  let mode: 'G0' | 'G1' | null = null;
  let feed: number | null = null;
  // Nobody knows what the program before has left.
  let s = Number.NaN;
  let beam: Motion['beam'] = 'off';
  let ended = false;
  lines.forEach((line, i) => {
    const number = i + 1;
    const fail = (why: string): never => {
      throw new Error(`line ${number} "${line}": ${why}`);
    };
    if (ended) fail('after the end');
    const { codes, values } = parseBlock(line, number);
    const has = (code: string) => codes.has(code);
    const rest = (word: string) => rests.push({ word, s, beam, line: number });
    // Table 8: feed mode, F, S, spindle, coolant, overrides, dwell, units, path, distance mode, non-modal, motion, stopping.
    if (has('G93')) perMinute = false;
    if (has('G94')) perMinute = true;
    if (values.has('F')) {
      feed = values.get('F')!;
      if (!(feed > 0)) fail('a feed must be above 0');
    }
    const moves = values.has('X') || values.has('Y');
    if (values.has('S')) {
      s = values.get('S')!;
      if (s < 0) fail('S below 0');
      if (!moves) rest(`S${s}`);
    }
    for (const code of ['M3', 'M4', 'M5'] as const) {
      if (!has(code)) continue;
      beam = code === 'M5' ? 'off' : code;
      rest(code);
    }
    for (const code of ['M7', 'M8', 'M9', 'G4']) if (has(code)) rest(code);
    if (has('G20')) unitMm = 25.4;
    if (has('G21')) unitMm = 1;
    if (has('G90')) absolute = true;
    if (has('G91')) absolute = false;
    const x = values.get('X');
    const y = values.get('Y');
    if (has('G92')) {
      if (x === undefined && y === undefined) fail('G92 without an axis');
      if (x !== undefined) offset = [at[0] - x * unitMm, offset[1]];
      if (y !== undefined) offset = [offset[0], at[1] - y * unitMm];
    } else {
      if (has('G92.1') || has('G92.2')) offset = [0, 0];
      if (has('G0')) mode = 'G0';
      if (has('G1')) mode = 'G1';
      if ((has('G0') || has('G1')) && !moves) fail('a motion without an axis');
      if (moves) {
        if (!mode) fail('an axis without a motion');
        if (mode === 'G1' && (feed === null || !perMinute)) fail('G1 before any feed');
        const to: [number, number] = absolute
          ? [x === undefined ? at[0] : x * unitMm + offset[0], y === undefined ? at[1] : y * unitMm + offset[1]]
          : [at[0] + (x ?? 0) * unitMm, at[1] + (y ?? 0) * unitMm];
        const feedMmPerS = ((feed ?? 0) * unitMm) / 60;
        motions.push({ rapid: mode === 'G0', from: at, to, feedMmPerS, s, beam, line: number });
        at = to;
      }
    }
    if (has('M0') || has('M1')) rest('stop');
    if (has('M2') || has('M30')) {
      rest('end');
      ended = true;
    }
  });
  if (!ended) throw new Error('the program does not end');
  return { motions, rests, lines, end: at };
}

/** Motions that follow one another without a stop. */
export function stretches(motions: readonly Motion[]): Motion[][] {
  const found: Motion[][] = [];
  for (const motion of motions) {
    const last = found.at(-1)?.at(-1);
    const goesOn =
      last && last.rapid === motion.rapid && last.feedMmPerS === motion.feedMmPerS && straight(last, motion);
    if (goesOn) found.at(-1)!.push(motion);
    else found.push([motion]);
  }
  return found;
}

function straight(a: Motion, b: Motion): boolean {
  const [ax, ay] = [a.to[0] - a.from[0], a.to[1] - a.from[1]];
  const [bx, by] = [b.to[0] - b.from[0], b.to[1] - b.from[1]];
  const product = Math.hypot(ax, ay) * Math.hypot(bx, by);
  // Positions are rounded: short moves may point a little aside.
  return product > 0 && (ax * bx + ay * by) / product > 0.98;
}

const lengthOf = ({ from, to }: Motion): number => Math.hypot(to[0] - from[0], to[1] - from[1]);

/** Trapezoid in closed form, s. */
export function programTimeS(motions: readonly Motion[], fastestMmPerS: number, accelerationMmPerS2: number): number {
  return stretches(motions).reduce((sum, stretch) => {
    const distance = stretch.reduce((length, motion) => length + lengthOf(motion), 0);
    const speed = stretch[0].rapid ? fastestMmPerS : stretch[0].feedMmPerS;
    const ramp = (speed * speed) / accelerationMmPerS2;
    return (
      sum +
      (distance >= ramp
        ? distance / speed + speed / accelerationMmPerS2
        : 2 * Math.sqrt(distance / accelerationMmPerS2))
    );
  }, 0);
}
