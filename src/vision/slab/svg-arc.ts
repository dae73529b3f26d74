import type { Point } from '../../base/geometry/point.ts';

/** The six numbers after the start of an elliptical arc in a path: radii, turn in degrees, the two flags. */
export interface ArcShape {
  readonly rx: number;
  readonly ry: number;
  readonly turnDeg: number;
  readonly large: boolean;
  readonly sweep: boolean;
}

/** Widest piece of an arc that one cubic curve stands for; its error is then 4e-6 of the radius. */
const WIDEST = Math.PI / 4;

/**
 * An elliptical arc of an SVG path as cubic Bézier curves: triples of control, control, end. Radii too small are widened; a radius of
 * zero gives the straight line as a curve.
 * Source: SVG 1.1 (W3C 2011), F.6.5 and F.6.6. Test: half a circle's length and places, test/unit/slab-svg.test.ts.
 */
export function arcToCubics([x1, y1]: Point, shape: ArcShape, [x2, y2]: Point): [Point, Point, Point][] {
  if (x1 === x2 && y1 === y2) return [];
  let rx = Math.abs(shape.rx);
  let ry = Math.abs(shape.ry);
  if (rx === 0 || ry === 0) {
    return [
      [
        [x1 + (x2 - x1) / 3, y1 + (y2 - y1) / 3],
        [x1 + (2 * (x2 - x1)) / 3, y1 + (2 * (y2 - y1)) / 3],
        [x2, y2],
      ],
    ];
  }
  const turn = (shape.turnDeg * Math.PI) / 180;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const px = (c * (x1 - x2) + s * (y1 - y2)) / 2;
  const py = (-s * (x1 - x2) + c * (y1 - y2)) / 2;
  const wide = Math.sqrt((px / rx) ** 2 + (py / ry) ** 2);
  if (wide > 1) {
    rx *= wide;
    ry *= wide;
  }
  const below = (rx * py) ** 2 + (ry * px) ** 2;
  const root = Math.sqrt(Math.max(0, ((rx * ry) ** 2 - below) / below)) * (shape.large === shape.sweep ? -1 : 1);
  const mx = (root * rx * py) / ry;
  const my = (-root * ry * px) / rx;
  const from = Math.atan2((py - my) / ry, (px - mx) / rx);
  let span = Math.atan2((-py - my) / ry, (-px - mx) / rx) - from;
  if (shape.sweep && span < 0) span += 2 * Math.PI;
  else if (!shape.sweep && span > 0) span -= 2 * Math.PI;
  const pieces = Math.max(1, Math.ceil(Math.abs(span) / WIDEST - 1e-9));
  const step = span / pieces;
  const pull = (4 / 3) * Math.tan(step / 4);
  const place = (u: number, v: number): Point => [
    c * (rx * u + mx) - s * (ry * v + my) + (x1 + x2) / 2,
    s * (rx * u + mx) + c * (ry * v + my) + (y1 + y2) / 2,
  ];
  return Array.from({ length: pieces }, (_, k): [Point, Point, Point] => {
    const a = from + k * step;
    const b = a + step;
    const end: Point = k === pieces - 1 ? [x2, y2] : place(Math.cos(b), Math.sin(b));
    return [
      place(Math.cos(a) - pull * Math.sin(a), Math.sin(a) + pull * Math.cos(a)),
      place(Math.cos(b) + pull * Math.sin(b), Math.sin(b) - pull * Math.cos(b)),
      end,
    ];
  });
}
