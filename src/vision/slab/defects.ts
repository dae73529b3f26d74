import type { Polygon } from '../../base/geometry/outline.ts';
import { components, maskWhere, rasterMask } from '../../base/geometry/raster-mask.ts';
import type { TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { blurGaussian } from '../../image/gaussian-blur.ts';
import { labPlanes } from './rectify.ts';

/** Something dark in the light wood; places in mm in the photo's frame. */
export type Defect =
  | { readonly kind: 'knot'; readonly xMm: number; readonly yMm: number; readonly diameterMm: number }
  | {
      readonly kind: 'check';
      readonly xMm: number;
      readonly yMm: number;
      readonly lengthMm: number;
      /** 0 ≤ heading < π, from x towards y (downwards). */
      readonly headingRad: number;
      readonly widthMm: number;
    };

/** How much darker than the wood round it, in L*. */
const DARKER_BY = 12;

const LEAST_KNOT_MM = 4;

const LEAST_CHECK_MM = 8;

/** What counts as the wood round a place: the mean within about this distance, mm. */
const ROUND_MM = 15;

/** Length over breadth: up to this a blob may be a knot, from this on a check. */
const ROUNDEST_CHECK = 4;

const LONGEST_KNOT = 2.5;

/** Share of its own ellipse that a knot fills. */
const KNOT_FILLS = 0.7;

/** A check is thinner than this, mm. */
const WIDEST_CHECK_MM = 8;

/** Along the masking line the rim itself may look in: so much is left out, mm. */
const RIM_MM = 1;

/**
 * Suggests knots and checks: parts of the light wood that are darker than the wood round them, compact ones as knots, thin long
 * ones as checks. Rings differ too little to be taken for either. The mean of the wood round a place is found twice, the
 * second time without what was dark in the first. The maker confirms each.
 * Accuracy on rendered slabs: a knot's middle within 1 mm, its diameter within 10 %. Test: test/unit/slab-from-photo.test.ts.
 * @param wood outline of the light wood, mm in the photo's frame. Largest defects first.
 */
export function suggestDefects(photo: TrueSizePhoto, wood: Polygon): Defect[] {
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  const region = rasterMask(photo, wood, RIM_MM);
  const L = labPlanes(photo).L;
  let clean = region;
  let dark: Uint8Array = region;
  for (let round = 0; round < 2; round++) {
    const level = localMean(L, clean, width, height, ROUND_MM / mmPerPixel);
    dark = maskWhere(region.length, (i) => region[i] === 1 && level[i] - L[i] > DARKER_BY);
    clean = maskWhere(region.length, (i) => region[i] === 1 && level[i] - L[i] <= DARKER_BY / 2);
  }
  const found: { defect: Defect; size: number }[] = [];
  for (const { cells } of components(closed(dark, width, height), width, height)) {
    const shape = blobShape(cells, width);
    const [x, y] = [leftMm + shape.x * mmPerPixel, topMm + shape.y * mmPerPixel];
    const area = cells.length * mmPerPixel ** 2;
    const elongation = shape.length / shape.breadth;
    const diameterMm = 2 * Math.sqrt(area / Math.PI);
    const fills = cells.length / ((Math.PI / 4) * shape.length * shape.breadth);
    if (elongation <= LONGEST_KNOT && diameterMm >= LEAST_KNOT_MM && fills >= KNOT_FILLS) {
      found.push({ defect: { kind: 'knot', xMm: x, yMm: y, diameterMm }, size: area });
      continue;
    }
    const lengthMm = shape.extent * mmPerPixel;
    const widthMm = area / lengthMm;
    if (elongation < ROUNDEST_CHECK || lengthMm < LEAST_CHECK_MM || widthMm > WIDEST_CHECK_MM) continue;
    const { headingRad } = shape;
    found.push({ defect: { kind: 'check', xMm: x, yMm: y, lengthMm, headingRad, widthMm }, size: area });
  }
  return found.sort((p, q) => q.size - p.size).map(({ defect }) => defect);
}

/** Gaussian mean of the cells in a mask; where the mask is far, the mean of all of them. */
function localMean(plane: Float32Array, mask: Uint8Array, width: number, height: number, sigma: number): Float32Array {
  let sum = 0;
  let count = 0;
  for (let i = 0; i < plane.length; i++) {
    if (!mask[i]) continue;
    sum += plane[i];
    count++;
  }
  const mean = count > 0 ? sum / count : 0;
  const weight = blurGaussian(new Float32Array(mask), width, height, sigma);
  const blurred = blurGaussian(
    plane.map((value, i) => (mask[i] ? value - mean : 0)),
    width,
    height,
    sigma,
  );
  return blurred.map((value, i) => (weight[i] > 1e-4 ? mean + value / weight[i] : mean));
}

/** Cells of a blurred mask above 0.4: bridges gaps of one cell and drops single ones. */
function closed(mask: Uint8Array, width: number, height: number): Uint8Array {
  const soft = blurGaussian(new Float32Array(mask), width, height, 0.7);
  return maskWhere(soft.length, (i) => soft[i] > 0.4);
}

/** Place and shape of a set of cells, in cells, from its first and second moments; cells count as squares. */
interface BlobShape {
  /** Centre of gravity; the middle of the first cell is 0.5. */
  readonly x: number;
  readonly y: number;
  /** Axes of the ellipse with the same second moments. */
  readonly length: number;
  readonly breadth: number;
  /** From the first cell to the last along the longer axis, a cell's own size included. */
  readonly extent: number;
  /** Of the longer axis, 0 ≤ heading < π, from x towards y. */
  readonly headingRad: number;
}

/** Moments of a set of cells given by flat indices; at least one. */
export function blobShape(cells: ArrayLike<number>, width: number): BlobShape {
  const n = cells.length;
  let sumX = 0;
  let sumY = 0;
  for (let k = 0; k < n; k++) {
    sumX += cells[k] % width;
    sumY += Math.floor(cells[k] / width);
  }
  const meanX = sumX / n;
  const meanY = sumY / n;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let k = 0; k < n; k++) {
    const dx = (cells[k] % width) - meanX;
    const dy = Math.floor(cells[k] / width) - meanY;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  // A cell's own spread is 1/12.
  xx = xx / n + 1 / 12;
  yy = yy / n + 1 / 12;
  xy /= n;
  const middle = (xx + yy) / 2;
  const half = Math.hypot((xx - yy) / 2, xy);
  const turn = 0.5 * Math.atan2(2 * xy, xx - yy);
  const headingRad = turn < 0 ? turn + Math.PI : turn;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < n; k++) {
    const along =
      ((cells[k] % width) - meanX) * Math.cos(turn) + (Math.floor(cells[k] / width) - meanY) * Math.sin(turn);
    least = Math.min(least, along);
    most = Math.max(most, along);
  }
  return {
    x: meanX + 0.5,
    y: meanY + 0.5,
    length: 4 * Math.sqrt(middle + half),
    breadth: 4 * Math.sqrt(Math.max(1 / 12, middle - half)),
    extent: most - least + 1,
    headingRad: headingRad >= Math.PI ? 0 : headingRad,
  };
}
