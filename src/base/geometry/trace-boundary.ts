import type { Point, Polygon } from './point.ts';

/**
 * The line round a part without holes (mask of 0 and 1, one part joined along sides), clockwise as seen, in cells: the middle of
 * cell (i, j) is (i + 0.5, j + 0.5). Walks along the sides between inside and outside cells; between the two middles the line
 * passes where the field, read linearly, takes the level, held to 0.001–0.999 of the way. At the edge of the grid it passes along it.
 * @throws RangeError if the mask is empty.
 */
export function traceBoundary(
  mask: Uint8Array,
  field: ArrayLike<number>,
  width: number,
  height: number,
  level: number,
): Polygon {
  const first = mask.indexOf(1);
  if (first < 0) throw new RangeError('an empty mask has no boundary');
  const inside = (x: number, y: number): boolean =>
    x >= 0 && y >= 0 && x < width && y < height && mask[y * width + x] === 1;
  const points: Point[] = [];
  // Heading 0 right, 1 down, 2 left, 3 up; the cell ahead on the right is inside, the one on the left outside.
  const startX = first % width;
  const startY = Math.floor(first / width);
  let [x, y, heading] = [startX, startY, 0];
  do {
    const rightX = x + RIGHT_X[heading];
    const rightY = y + RIGHT_Y[heading];
    const leftX = x + LEFT_X[heading];
    const leftY = y + LEFT_Y[heading];
    points.push(between(rightX, rightY, leftX, leftY));
    x += STEP_X[heading];
    y += STEP_Y[heading];
    const ahead = heading;
    // Inside cells that meet at a corner only are kept apart: turn right where possible.
    if (!inside(x + RIGHT_X[ahead], y + RIGHT_Y[ahead])) heading = (ahead + 1) % 4;
    else if (inside(x + LEFT_X[ahead], y + LEFT_Y[ahead])) heading = (ahead + 3) % 4;
  } while (x !== startX || y !== startY || heading !== 0);
  return points;

  function between(ix: number, iy: number, ox: number, oy: number): Point {
    let share = 0.5;
    if (ox >= 0 && oy >= 0 && ox < width && oy < height) {
      const within = field[iy * width + ix];
      const beyond = field[oy * width + ox];
      const exact = (within - level) / (within - beyond);
      share = Number.isFinite(exact) ? Math.min(0.999, Math.max(0.001, exact)) : 0.5;
    }
    return [ix + 0.5 + share * (ox - ix), iy + 0.5 + share * (oy - iy)];
  }
}

const STEP_X = [1, 0, -1, 0];
const STEP_Y = [0, 1, 0, -1];
/** The cells ahead of a corner, right and left of the way, per heading. */
const RIGHT_X = [0, -1, -1, 0];
const RIGHT_Y = [0, 0, -1, -1];
const LEFT_X = [0, 0, -1, -1];
const LEFT_Y = [-1, 0, 0, -1];
