import { centreOutline } from '../../base/geometry/centre-outline.ts';
import { OutlineError } from '../../base/geometry/outline-error.ts';
import type { Point, Polygon } from '../../base/geometry/point.ts';
import { areaMm2, boundsMm } from '../../base/geometry/polygon.ts';
import { LIMITS } from '../../base/limits.ts';
import { readSvgDocument } from './svg-document.ts';
import type { SvgMatrix } from './svg-matrix.ts';
import { parseSvgPath, type SubPath } from './svg-path.ts';

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
