import type { Point, Polygon } from '../../base/geometry/point.ts';
import type { BoundsMm } from '../../base/geometry/polygon.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import type { Defect } from './defects.ts';

/** How often something is turned clockwise by 90° about the origin. */
export type Quarters = 0 | 1 | 2 | 3;

/** The turns of both, one after the other; a negative sum turns back. */
export const addQuarters = (a: number, b: number): Quarters => ((((a + b) % 4) + 4) % 4) as Quarters;

export function turnPoint([x, y]: Point, quarters: number): Point {
  switch (addQuarters(quarters, 0)) {
    case 0:
      return [x, y];
    case 1:
      return [-y, x];
    case 2:
      return [-x, -y];
    case 3:
      return [y, -x];
  }
}

export const turnPolygon = (polygon: Polygon, quarters: number): Polygon =>
  polygon.map((point) => turnPoint(point, quarters));

export function turnBounds({ left, top, right, bottom }: BoundsMm, quarters: number): BoundsMm {
  const [x0, y0] = turnPoint([left, top], quarters);
  const [x1, y1] = turnPoint([right, bottom], quarters);
  return { left: Math.min(x0, x1), top: Math.min(y0, y1), right: Math.max(x0, x1), bottom: Math.max(y0, y1) };
}

export function turnDefect(defect: Defect, quarters: number): Defect {
  const [xMm, yMm] = turnPoint([defect.xMm, defect.yMm], quarters);
  if (defect.kind === 'knot') return { ...defect, xMm, yMm };
  return { ...defect, xMm, yMm, headingRad: (defect.headingRad + addQuarters(quarters, 0) * (Math.PI / 2)) % Math.PI };
}

/** The pixels turned clockwise. */
export function turnPixels(photo: RgbaPhoto, quarters: number): RgbaPhoto {
  const turns = addQuarters(quarters, 0);
  if (turns === 0) return photo;
  const { width, height, rgba } = photo;
  const from = new Uint32Array(rgba.buffer, rgba.byteOffset, width * height);
  const to = new Uint32Array(width * height);
  const [newWidth, newHeight] = turns === 2 ? [width, height] : [height, width];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const column = turns === 1 ? height - 1 - y : turns === 2 ? width - 1 - x : y;
      const row = turns === 1 ? x : turns === 2 ? height - 1 - y : width - 1 - x;
      to[row * newWidth + column] = from[y * width + x];
    }
  }
  return { width: newWidth, height: newHeight, rgba: new Uint8Array(to.buffer) };
}
