import { type Motion, type Program, readProgram } from './gcode-reader.ts';

/** What a program is held against, told by hand: no code is shared with what writes programs or what verifies them. */
export interface Orders {
  readonly kind: 'pass' | 'walk' | 'mark';
  readonly bed: readonly [number, number];
  /** Where the head stands at the start and where positions count from on the bed, mm. */
  readonly start: readonly [number, number];
  readonly mostS: number;
  readonly feedMmPerS: number;
  /** A step of positions, mm. */
  readonly stepMm: number;
  /** False where the program is to burn nothing at all. */
  readonly light: boolean;
}

const COMMENT = /\(([^()]*)\)/g;
const length = ({ from, to }: Motion): number => Math.hypot(to[0] - from[0], to[1] - from[1]);

/**
 * Everything that is unsafe about a program, a sentence each: light at rest, at rapid, on the way, parked or at the end; places off the
 * bed; too much power or feed; comments that are long, strange or not closed.
 */
export function judgeProgram(text: string, orders: Orders): string[] {
  let program: Program;
  try {
    program = readProgram(text, orders.start);
  } catch (error) {
    return [(error as Error).message];
  }
  return [...judgeLines(program.lines), ...judgeLight(program, orders), ...judgePlaces(program, orders)];
}

/** Lines of at most 80 printable ASCII signs; comments of letters, digits and few signs more. */
function judgeLines(lines: readonly string[]): string[] {
  const faults: string[] = [];
  if (lines[0] !== 'M5') faults.push('the first line is not M5');
  lines.forEach((line, i) => {
    if (line.length > 80) faults.push(`line ${i + 1} has ${line.length} signs`);
    if (/[^\x20-\x7e]/.test(line)) faults.push(`line ${i + 1} is not printable ASCII`);
    if (/[!~?$%@#^&*=|<>`"'\\;[\]{}_]/.test(line)) faults.push(`line ${i + 1} holds a sign that may act: ${line}`);
    for (const [, comment] of line.matchAll(COMMENT)) {
      if (/^\s*msg/i.test(comment)) faults.push(`line ${i + 1} is a message`);
    }
  });
  return faults;
}

/** Moves at feed that follow each other without a rest; the head stands before and after. */
export function runs({ motions, rests }: Program, orders: Pick<Orders, 'kind' | 'stepMm'>): Motion[][] {
  const found: Motion[][] = [];
  let last: Motion | null = null;
  for (const motion of motions) {
    if (length(motion) === 0) continue;
    const rested = last && rests.some(({ line }) => line > last!.line && line <= motion.line);
    const goesOn =
      last &&
      !rested &&
      !last.rapid &&
      !motion.rapid &&
      (orders.kind === 'walk' || straightOn(found.at(-1)!, motion, orders));
    if (goesOn) found.at(-1)!.push(motion);
    else if (!motion.rapid) found.push([motion]);
    last = motion;
  }
  return found;
}

/** No end of a move lies farther beside the line from the first start than rounding explains, and none goes back. */
function straightOn(run: readonly Motion[], next: Motion, { stepMm }: Pick<Orders, 'stepMm'>): boolean {
  const [x0, y0] = run[0].from;
  const reach = Math.hypot(next.to[0] - x0, next.to[1] - y0);
  const [ux, uy] = [(next.to[0] - x0) / reach, (next.to[1] - y0) / reach];
  return run.every(({ to }) => {
    const [dx, dy] = [to[0] - x0, to[1] - y0];
    const along = dx * ux + dy * uy;
    return Math.abs(dx * uy - dy * ux) < 2 * stepMm && along > -2 * stepMm && along < reach + 2 * stepMm;
  });
}

function judgeLight(program: Program, orders: Orders): string[] {
  const faults: string[] = [];
  const { motions, rests } = program;
  for (const { s, beam, word, line } of rests) {
    // What the program before has left is nobody's light as long as the beam is off.
    const harmless = s === 0 || (Number.isNaN(s) && beam === 'off');
    if (!harmless) faults.push(`line ${line}: S${s} at rest (${word})`);
    if (word === 'end' && beam !== 'off') faults.push('ends with the beam allowed');
    if (!orders.light && beam !== 'off') faults.push('allows a beam that nobody asked for');
  }
  for (const motion of motions) {
    const { s, rapid, beam, feedMmPerS, line } = motion;
    if (s === 0) continue;
    if (Number.isNaN(s)) faults.push(`line ${line}: moves before S is said`);
    if (rapid) faults.push(`line ${line}: S${s} at rapid`);
    if (beam === 'off') faults.push(`line ${line}: S${s} with the beam off`);
    if (length(motion) === 0) faults.push(`line ${line}: S${s} without a move`);
    if (s > orders.mostS + 1e-9) faults.push(`line ${line}: S${s} is above the limit ${orders.mostS}`);
    if (feedMmPerS > orders.feedMmPerS * (1 + 1e-9)) faults.push(`line ${line}: feed ${feedMmPerS} mm/s`);
  }
  for (const { rapid, feedMmPerS, line } of motions) {
    if (!rapid && feedMmPerS > orders.feedMmPerS * (1 + 1e-9)) faults.push(`line ${line}: feed ${feedMmPerS} mm/s`);
  }
  for (const run of runs(program, orders)) {
    if (run[0].s > 0) faults.push(`line ${run[0].line}: starts from rest with light`);
    if (run.at(-1)!.s > 0) faults.push(`line ${run.at(-1)!.line}: comes to rest with light`);
  }
  return faults;
}

function judgePlaces({ motions }: Program, { bed, stepMm }: Orders): string[] {
  return motions.flatMap(({ to, line }) =>
    [0, 1].some((axis) => to[axis] < -stepMm || to[axis] > bed[axis] + stepMm)
      ? [`line ${line}: ${to[0]}, ${to[1]} is off the bed`]
      : [],
  );
}
