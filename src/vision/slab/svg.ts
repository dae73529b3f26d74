import { type SVGCommand, SVGPathData } from 'svg-pathdata';
import { areaMm2, boundsMm, OutlineError, type Point, type Polygon } from '../../base/geometry/outline.ts';
import { centreOutline } from '../../base/geometry/raster-mask.ts';
import { inMiB, LIMITS } from '../../base/input-error.ts';

/** An outline read from text, about the slab's origin, with sentences about what was made of it. */
export interface ReadOutline {
  readonly outline: Polygon;
  readonly notes: readonly string[];
}

/** Decimals of a mm that are written: a hundredth of what any machine here can place. */
const DECIMALS = 3;

/** An outline as an SVG document in mm: size and user unit are mm, the line is closed and not filled. Right to 0.0005 mm. */
export function outlineToSvg(outline: Polygon): string {
  const { left, top, right, bottom } = boundsMm(outline);
  const number = (mm: number): string => String(Number(mm.toFixed(DECIMALS)));
  const [width, height] = [number(right - left), number(bottom - top)];
  const d = outline.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${number(x)} ${number(y)}`).join('');
  return `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="${width}mm" height="${height}mm" viewBox="${number(left)} ${number(top)} ${width} ${height}">
  <path d="${d}Z" fill="none" stroke="#000000" stroke-width="0.1"/>
</svg>
`;
}

/**
 * The outline in an SVG document: the path that encloses most, in mm by the document's own units, moved to the slab's origin.
 * @throws OutlineError if there is no path, it cannot be read, encloses nothing or crosses itself.
 */
export function svgToOutline(text: string): ReadOutline {
  const { paths, notes } = readSvgDocument(text);
  if (paths.length === 0) throw new OutlineError('the document holds no path: turn shapes and text into paths first');
  return choose(
    paths.flatMap(({ d, toMm }) => parseSvgPath(d, toMm)),
    notes,
  );
}

/**
 * The outline in the `d` of an SVG path whose unit is mm.
 * @param toMm other units. @throws OutlineError as `svgToOutline` does.
 */
export const svgPathToOutline = (d: string, toMm?: SvgMatrix): ReadOutline => choose(parseSvgPath(d, toMm), []);

function choose(strokes: readonly SubPath[], notes: readonly string[]): ReadOutline {
  if (strokes.length === 0) throw new OutlineError('the path holds no line');
  const said = [...notes];
  const areas = strokes.map(({ points }) => areaMm2(points));
  const largest = strokes[areas.indexOf(areas.reduce((most, area) => Math.max(most, area)))];
  if (strokes.length > 1)
    said.push(`The drawing has ${strokes.length} lines; the one that encloses most is the outline.`);
  if (!largest.closed)
    said.push('The line was open and has been closed by a straight piece from its end to its start.');
  const outline = distinct(largest.points);
  if (outline.length > LIMITS.outlinePoints) {
    throw new OutlineError(
      `the outline has ${outline.length} points and up to ${LIMITS.outlinePoints} can be read: simplify it where it was drawn`,
    );
  }
  return { outline: centreOutline(outline).outline, notes: said };
}

/** Without points that lie on the one before. */
const distinct = (points: readonly Point[]): Polygon =>
  points.filter(([x, y], i) => {
    const [px, py] = points[(i + points.length - 1) % points.length];
    return Math.hypot(x - px, y - py) > 1e-9;
  });

// Own code: a worker has no document model, and what parsers of libraries build of a document has no bounds.

/** One tag of a marked-up text. */
interface Tag {
  /** Without the prefix of its namespace. */
  readonly name: string;
  readonly closing: boolean;
  /** Has no content: nothing closes it. */
  readonly empty: boolean;
  readonly attributes: ReadonlyMap<string, string>;
}

const NAME = /[A-Za-z_][\w:.-]*/y;

const ATTRIBUTE = /\s+([\w:.-]+)\s*=\s*(?=["'])/y;

const SPACE = /\s*/y;

/** What is passed over: how it begins and how it ends. */
const SKIPPED = [
  ['<!--', '-->'],
  ['<![CDATA[', ']]>'],
  ['<?', '?>'],
] as const;

/**
 * The tags of a text as XML 1.0 (fifth edition, 3.1) writes them, one after the other; comments, character data and declarations are
 * passed over, as is a `<` that begins none of them. Looks at every character once or twice, however the text is made.
 * @throws OutlineError for tags nested too deep.
 */
function* tagsOf(text: string): Generator<Tag> {
  let depth = 0;
  for (let at = text.indexOf('<'); at >= 0; at = text.indexOf('<', at)) {
    const skipped = SKIPPED.find(([begin]) => text.startsWith(begin, at));
    if (skipped) {
      const end = text.indexOf(skipped[1], at + skipped[0].length);
      if (end < 0) return;
      at = end + skipped[1].length;
    } else if (text.startsWith('<!', at)) at = afterDeclaration(text, at);
    else {
      const read = readTag(text, at);
      at = read.next;
      if (!read.tag) continue;
      if (read.tag.closing) depth = Math.max(0, depth - 1);
      else if (!read.tag.empty && ++depth > LIMITS.nesting) {
        throw new OutlineError(`the document is nested deeper than ${LIMITS.nesting} levels`);
      }
      yield read.tag;
    }
  }
}

/** Behind a document type, which may hold declarations between brackets. */
function afterDeclaration(text: string, at: number): number {
  const end = text.indexOf('>', at);
  const bracket = text.indexOf('[', at);
  if (end < 0) return text.length;
  if (bracket < 0 || bracket > end) return end + 1;
  const closed = text.indexOf(']', bracket);
  const after = closed < 0 ? -1 : text.indexOf('>', closed);
  return after < 0 ? text.length : after + 1;
}

function readTag(text: string, start: number): { readonly tag: Tag | null; readonly next: number } {
  const closing = text[start + 1] === '/';
  NAME.lastIndex = start + (closing ? 2 : 1);
  const name = NAME.exec(text)?.[0];
  if (name === undefined) return { tag: null, next: start + 1 };
  let at = NAME.lastIndex;
  const attributes = new Map<string, string>();
  for (;;) {
    ATTRIBUTE.lastIndex = at;
    const found = ATTRIBUTE.exec(text);
    if (!found) break;
    const value = ATTRIBUTE.lastIndex + 1;
    const end = text.indexOf(text[value - 1], value);
    if (end < 0) return { tag: null, next: text.length };
    attributes.set(found[1], text.slice(value, end));
    at = end + 1;
  }
  SPACE.lastIndex = at;
  SPACE.exec(text);
  at = SPACE.lastIndex;
  const empty = text[at] === '/';
  if (empty) at++;
  if (text[at] !== '>') return { tag: null, next: at };
  return { tag: { name: name.replace(/^.*:/, ''), closing, empty, attributes }, next: at + 1 };
}

/** Lengths of SVG in mm (CSS Values 3, 5.2): a pixel is 1/96 inch. */
const UNIT_MM: Readonly<Record<string, number>> = {
  mm: 1,
  cm: 10,
  q: 0.25,
  in: 25.4,
  pt: 25.4 / 72,
  pc: 25.4 / 6,
  px: 25.4 / 96,
  '': 25.4 / 96,
};

/** A path of a document with the way from its units to mm. */
interface SvgPathElement {
  readonly d: string;
  readonly toMm: SvgMatrix;
}

/** Elements whose content is not drawn where it stands. */
const HIDDEN = new Set([
  'defs',
  'clipPath',
  'mask',
  'symbol',
  'marker',
  'pattern',
  'metadata',
  'title',
  'desc',
  'style',
]);

/**
 * Finds the paths of an SVG document, their transformations and the size of its unit: from width, height and viewBox of the outermost
 * `svg` (SVG 1.1, 7.8: fitted into the size without distortion), else 1/96 inch. Works on the text; no document model is needed.
 * @throws OutlineError if the text is not an SVG document or a size cannot be read.
 */
function readSvgDocument(text: string): { readonly paths: SvgPathElement[]; readonly notes: string[] } {
  if (text.length > LIMITS.drawingBytes) {
    throw new OutlineError(`the document is larger than ${inMiB(LIMITS.drawingBytes)}`);
  }
  const paths: SvgPathElement[] = [];
  const notes: string[] = [];
  const open: { matrix: SvgMatrix; hidden: boolean }[] = [];
  let seen = false;
  for (const { name, closing, empty, attributes } of tagsOf(text)) {
    if (closing) {
      open.pop();
      continue;
    }
    const outer = open[open.length - 1];
    let matrix = outer?.matrix ?? UNCHANGED;
    if (!seen) {
      if (name !== 'svg') break;
      seen = true;
      matrix = unitMatrix(attributes, notes);
    } else if (attributes.has('transform')) {
      matrix = chained(matrix, parseTransform(attributes.get('transform') ?? ''));
    }
    const hidden = (outer?.hidden ?? false) || HIDDEN.has(name);
    const d = attributes.get('d');
    if (name === 'path' && d !== undefined && !hidden) paths.push({ d, toMm: matrix });
    if (!empty) open.push({ matrix, hidden });
  }
  if (!seen) throw new OutlineError('the text is not an SVG document');
  return { paths, notes };
}

function unitMatrix(attributes: ReadonlyMap<string, string>, notes: string[]): SvgMatrix {
  const width = lengthMm(attributes.get('width'));
  const height = lengthMm(attributes.get('height'));
  const box = (attributes.get('viewBox') ?? '')
    .trim()
    .split(/[\s,]+/)
    .map(Number);
  if (box.length === 4 && box.every(Number.isFinite) && box[2] > 0 && box[3] > 0 && (width ?? height) !== null) {
    const across = width === null ? Number.POSITIVE_INFINITY : width / box[2];
    const down = height === null ? Number.POSITIVE_INFINITY : height / box[3];
    const unit = Math.min(across, down);
    if (attributes.get('preserveAspectRatio')?.trim().startsWith('none') && width !== null && height !== null) {
      return [across, 0, 0, down, -across * box[0], -down * box[1]];
    }
    return [unit, 0, 0, unit, -unit * box[0], -unit * box[1]];
  }
  if ((width ?? height) === null) {
    notes.push('The document does not say how large it is; its unit is taken as 1/96 inch. Check the size.');
  }
  return [UNIT_MM.px, 0, 0, UNIT_MM.px, 0, 0];
}

/** Null for none or a percentage. */
function lengthMm(text: string | undefined): number | null {
  if (text === undefined || text.trim().endsWith('%') || text.trim() === 'auto') return null;
  const match = /^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*$/.exec(text);
  const unit = match ? UNIT_MM[match[2].toLowerCase()] : undefined;
  if (!match || unit === undefined) throw new OutlineError(`the size “${text}” of the document cannot be read`);
  const value = Number(match[1]) * unit;
  if (!(value > 0)) throw new OutlineError('the document has a size of zero');
  return value;
}

/** One stroke of a path, flattened; the first point is not repeated at the end. */
interface SubPath {
  readonly points: readonly Point[];
  readonly closed: boolean;
}

/** Curves are split into chords that lie within this of them, mm. */
const FLAT_MM = 0.1;

/** Of all strokes together: the outline is only one of them. */
const MOST_POINTS = 10 * LIMITS.outlinePoints;

/**
 * Reads the `d` of an SVG path (SVG 1.1, 8.3): all its commands, absolute and relative, with curves flattened to 0.1 mm. Of arcs every
 * quarter becomes a cubic curve, which is off by 0.03 % of the radius.
 * @param toMm from the path's own units to mm. @throws OutlineError that says where the text cannot be read.
 */
export function parseSvgPath(d: string, toMm: SvgMatrix = UNCHANGED): SubPath[] {
  const done: SubPath[] = [];
  let points: Point[] = [];
  let here: Point = [0, 0];
  let count = 0;
  const place = (x: number, y: number): Point => {
    if (!(Math.max(Math.abs(x), Math.abs(y)) <= LIMITS.drawingReachMm)) throw tooFar();
    return [x, y];
  };
  const finish = (closed: boolean): void => {
    if (points.length > 1 && closed && same(points[points.length - 1], points[0])) points.pop();
    if (points.length > 1) done.push({ points, closed });
    points = [];
  };
  const drawTo = (controls: readonly Point[]): void => {
    if (points.length === 0) points.push(here);
    count += flatten([here, ...controls], points);
    if (count > MOST_POINTS) throw new OutlineError(`the path has more than ${MOST_POINTS} points`);
    here = controls[controls.length - 1];
  };
  let start = here;
  for (const command of plainCommands(d, toMm)) {
    if (command.type === SVGPathData.CLOSE_PATH) {
      finish(true);
      here = start;
    } else if (command.type === SVGPathData.MOVE_TO) {
      finish(false);
      here = place(command.x, command.y);
      start = here;
    } else if (command.type === SVGPathData.LINE_TO) drawTo([place(command.x, command.y)]);
    else if (command.type === SVGPathData.CURVE_TO) {
      const { x1, y1, x2, y2, x, y } = command;
      drawTo([place(x1, y1), place(x2, y2), place(x, y)]);
    }
  }
  finish(false);
  return done;
}

/** The commands of a path as moves, lines and cubic curves in mm. */
function plainCommands(d: string, toMm: SvgMatrix): SVGCommand[] {
  const fail = (at: number): never => {
    throw new OutlineError(`the path cannot be read from “${d.slice(at, at + 12)}” (character ${at + 1}) on`);
  };
  const begin = d.search(/\S/);
  if (begin >= 0 && !/[Mm]/.test(d[begin])) fail(begin);
  try {
    const path = new SVGPathData(d).toAbs().normalizeHVZ(false).normalizeST().qtToC().aToC();
    return path.matrix(...toMm).commands;
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    const at = /(?:index|at) "?(\d+)/.exec(error.message);
    return fail(at ? Number(at[1]) : d.length);
  }
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

/** An affine map as SVG writes it: (x, y) → (a x + c y + e, b x + d y + f). */
type SvgMatrix = readonly [number, number, number, number, number, number];

const UNCHANGED: SvgMatrix = [1, 0, 0, 1, 0, 0];

/** First `inner`, then `outer`. */
const chained = (outer: SvgMatrix, inner: SvgMatrix): SvgMatrix => {
  const [a, b, c, d, e, f] = outer;
  const [p, q, r, s, t, u] = inner;
  return [a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f];
};

const DEGREE = Math.PI / 180;

/**
 * Reads a `transform` attribute (SVG 1.1, 7.6): matrix, translate, scale, rotate, skewX, skewY, in any number.
 * @throws OutlineError for anything else.
 */
function parseTransform(text: string): SvgMatrix {
  let matrix = UNCHANGED;
  const rest = text.replace(/([a-zA-Z]+)\s*\(([^)]*)\)[\s,]*/g, (_, name: string, list: string) => {
    const n = (list.match(/[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?/g) ?? []).map(Number);
    matrix = chained(matrix, single(name, n, text));
    return '';
  });
  if (rest.trim() !== '') throw new OutlineError(`the transformation “${text}” cannot be read`);
  return matrix;
}

function single(name: string, n: readonly number[], text: string): SvgMatrix {
  const count = n.length;
  if (name === 'matrix' && count === 6) return [n[0], n[1], n[2], n[3], n[4], n[5]];
  if (name === 'translate' && (count === 1 || count === 2)) return [1, 0, 0, 1, n[0], n[1] ?? 0];
  if (name === 'scale' && (count === 1 || count === 2)) return [n[0], 0, 0, n[1] ?? n[0], 0, 0];
  if (name === 'skewX' && count === 1) return [1, 0, Math.tan(n[0] * DEGREE), 1, 0, 0];
  if (name === 'skewY' && count === 1) return [1, Math.tan(n[0] * DEGREE), 0, 1, 0, 0];
  if (name === 'rotate' && (count === 1 || count === 3)) {
    const [c, s] = [Math.cos(n[0] * DEGREE), Math.sin(n[0] * DEGREE)];
    const [x, y] = [n[1] ?? 0, n[2] ?? 0];
    return [c, s, -s, c, x - c * x + s * y, y - s * x - c * y];
  }
  throw new OutlineError(`the transformation “${text}” cannot be read`);
}
