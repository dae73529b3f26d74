import { OutlineError } from '../../base/geometry/outline-error.ts';
import type { Point } from '../../base/geometry/point.ts';
import { LIMITS } from '../../base/limits.ts';
import { arcToCubics } from './svg-arc.ts';
import { type SvgMatrix, UNCHANGED } from './svg-matrix.ts';

/** One stroke of a path, flattened; the first point is not repeated at the end. */
export interface SubPath {
  readonly points: readonly Point[];
  readonly closed: boolean;
}

const COUNTS: Readonly<Record<string, number>> = { M: 2, L: 2, H: 1, V: 1, C: 6, S: 4, Q: 4, T: 2, A: 7, Z: 0 };
/** Curves are split into chords that lie within this of them, mm. */
const FLAT_MM = 0.1;
/** Of all strokes together: the outline is only one of them. */
const MOST_POINTS = 10 * LIMITS.outlinePoints;

/**
 * Reads the `d` of an SVG path (SVG 1.1, 8.3): all its commands, absolute and relative, with curves flattened to 0.1 mm.
 * @param toMm from the path's own units to mm. @throws OutlineError that says where the text cannot be read.
 */
export function parseSvgPath(d: string, toMm: SvgMatrix = UNCHANGED): SubPath[] {
  const done: { points: Point[]; closed: boolean }[] = [];
  let points: Point[] = [];
  let [here, start, control]: Point[] = [
    [0, 0],
    [0, 0],
    [0, 0],
  ];
  let before = '';
  let count = 0;
  const out = ([x, y]: Point): Point => {
    const place: Point = [toMm[0] * x + toMm[2] * y + toMm[4], toMm[1] * x + toMm[3] * y + toMm[5]];
    if (!(Math.max(Math.abs(place[0]), Math.abs(place[1])) <= LIMITS.drawingReachMm)) throw tooFar();
    return place;
  };
  const counted = (more: number): void => {
    count += more;
    if (count > MOST_POINTS) throw new OutlineError(`the path has more than ${MOST_POINTS} points`);
  };
  const finish = (closed: boolean): void => {
    const last = points[points.length - 1];
    if (points.length > 1 && closed && same(last, points[0])) points.pop();
    if (points.length > 1) done.push({ points, closed });
    points = [];
  };
  const lineTo = (to: Point): void => {
    if (points.length === 0) points.push(out(here));
    points.push(out(to));
    counted(1);
    here = to;
  };
  const curveTo = (controls: readonly Point[]): void => {
    if (points.length === 0) points.push(out(here));
    counted(flatten([here, ...controls].map(out), points));
    here = controls[controls.length - 1];
  };
  const mirrored = (): Point => [2 * here[0] - control[0], 2 * here[1] - control[1]];

  for (const { letter, relative, n } of commands(d)) {
    const at = (i: number): Point => (relative ? [here[0] + n[i], here[1] + n[i + 1]] : [n[i], n[i + 1]]);
    let next: Point | null = null;
    if (letter === 'M') {
      const to = at(0);
      finish(false);
      here = to;
      start = to;
    } else if (letter === 'Z') {
      finish(true);
      here = start;
    } else if (letter === 'L') lineTo(at(0));
    else if (letter === 'H') lineTo([relative ? here[0] + n[0] : n[0], here[1]]);
    else if (letter === 'V') lineTo([here[0], relative ? here[1] + n[0] : n[0]]);
    else if (letter === 'C' || letter === 'S') {
      const smooth = before === 'C' || before === 'S' ? mirrored() : here;
      const curve = letter === 'C' ? [at(0), at(2), at(4)] : [smooth, at(0), at(2)];
      next = curve[1];
      curveTo(curve);
    } else if (letter === 'Q' || letter === 'T') {
      const smooth = before === 'Q' || before === 'T' ? mirrored() : here;
      const curve = letter === 'Q' ? [at(0), at(2)] : [smooth, at(0)];
      next = curve[0];
      curveTo(curve);
    } else {
      const to = at(5);
      const shape = { rx: n[0], ry: n[1], turnDeg: n[2], large: n[3] === 1, sweep: n[4] === 1 };
      for (const curve of arcToCubics(here, shape, to)) curveTo(curve);
      here = to;
    }
    control = next ?? here;
    before = letter;
  }
  finish(false);
  return done;
}

const same = (a: Point, b: Point): boolean => Math.hypot(a[0] - b[0], a[1] - b[1]) < 1e-6;

const tooFar = (): OutlineError =>
  new OutlineError(
    `a point of the path lies further out than ${LIMITS.drawingReachMm / 1000} m: check its numbers and its unit`,
  );

/**
 * A curve of degree m as even steps: their number follows from the largest second difference (Wang's bound).
 * @returns how many; the reach of the points bounds them.
 */
function flatten(controls: readonly Point[], points: Point[]): number {
  const degree = controls.length - 1;
  let bend = 0;
  for (let i = 0; i + 2 <= degree; i++) {
    const [a, b, c] = [controls[i], controls[i + 1], controls[i + 2]];
    bend = Math.max(bend, Math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1]));
  }
  const steps = Math.max(1, Math.ceil(Math.sqrt((degree * (degree - 1) * bend) / (8 * FLAT_MM))));
  for (let k = 1; k <= steps; k++) {
    let level = controls;
    while (level.length > 1) {
      level = level.slice(1).map(([x, y], i): Point => {
        const [px, py] = level[i];
        return [px + (k / steps) * (x - px), py + (k / steps) * (y - py)];
      });
    }
    points.push(level[0]);
  }
  return steps;
}

interface Command {
  readonly letter: string;
  readonly relative: boolean;
  readonly n: readonly number[];
}

const NUMBER = /[\s,]*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)/y;
const FLAG = /[\s,]*([01])/y;

/** Splits the text into commands with their numbers; further sets of numbers repeat a command (after M as L). */
function* commands(d: string): Generator<Command> {
  const length = d.trimEnd().length;
  let at = d.length - d.trimStart().length;
  const fail = (): never => {
    throw new OutlineError(`the path cannot be read from “${d.slice(at, at + 12)}” (character ${at + 1}) on`);
  };
  const read = (pattern: RegExp): number | null => {
    pattern.lastIndex = at;
    const match = pattern.exec(d);
    if (!match) return null;
    at = pattern.lastIndex;
    return Number(match[1]);
  };
  let first = true;
  while (at < length) {
    const symbol = d[at];
    let letter = symbol.toUpperCase();
    const count = COUNTS[letter];
    if (count === undefined || (first && letter !== 'M')) fail();
    first = false;
    at++;
    const relative = symbol !== letter;
    for (let set = 0; ; set++) {
      const n: number[] = [];
      for (let i = 0; i < count; i++) {
        const value = read(letter === 'A' && (i === 3 || i === 4) ? FLAG : NUMBER);
        if (value === null) break;
        n.push(value);
      }
      if (n.length === 0 && set > 0) break;
      if (n.length < count) fail();
      yield { letter, relative, n };
      if (count === 0) break;
      if (letter === 'M') letter = 'L';
    }
    while (at < length && /[\s,]/.test(d[at])) at++;
  }
}
