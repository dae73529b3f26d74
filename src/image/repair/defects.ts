import { boxMean } from './box-mean.ts';
import { findPatches } from './inpaint.ts';

interface DefectOptions {
  readonly kind: 'bright' | 'dark' | 'both';
  /** Half the width of the widest scratch or speck, dots, whole, 1–50: what is wider than 2 · radius is picture. */
  readonly radius: number;
  /** Lightness (0–1) by which a defect stands out from what lies on both sides of it. */
  readonly threshold: number;
  /** How many times more than its neighbourhood a defect must stand out: keeps hair, grass and grain, which stand out everywhere. */
  readonly aboveTexture: number;
  /** Defects of fewer dots are grain and stay. */
  readonly leastDots: number;
  /** Dots by which each defect is widened, since its own edge is soft. */
  readonly grow: number;
}

const DEFECT_DEFAULTS: DefectOptions = {
  kind: 'both',
  radius: 2,
  threshold: 0.12,
  aboveTexture: 2,
  leastDots: 3,
  grow: 1,
};

/** The neighbourhood that tells texture is so many radii wide on every side. */
const TEXTURE_RADII = 8;

/**
 * Finds scratches, dust and hairs: places thinner than 2 · radius + 1 dots in at least one direction that are brighter than the
 * opening of the picture by a square, or darker than its closing (top-hat transforms). Thin things that belong to the picture
 * (rigging, whiskers) are found too where they stand alone: show the mask and let the maker rub them out of it.
 * Source: J. Serra, "Image analysis and mathematical morphology", 1982 (top hats of F. Meyer); the weighing against
 * texture is ours. Test: planted scratches (test/unit/repair-defects.test.ts).
 * @param plane lightness 0–1, row-major.
 * @returns 255 where there is a defect, else 0; for `inpaint`.
 * @throws RangeError if the radius is not a whole number 1–50.
 */
export function findDefects(
  plane: Float32Array,
  width: number,
  height: number,
  options: Partial<DefectOptions> = {},
): Uint8Array {
  const { kind, radius, leastDots, grow, ...limits } = { ...DEFECT_DEFAULTS, ...options };
  if (!(Number.isInteger(radius) && radius >= 1 && radius <= 50)) {
    throw new RangeError(`defects need a radius of 1 to 50 dots, got ${radius}`);
  }
  const found = new Uint8Array(plane.length);
  const extreme = (from: Float32Array, which: 'greatest' | 'least') =>
    squareExtreme(from, width, height, radius, which);
  const reach = TEXTURE_RADII * radius;
  const mark = (hat: Float32Array) => {
    const texture = boxMean(hat, width, height, reach);
    for (let i = 0; i < hat.length; i++) {
      if (hat[i] > limits.threshold && hat[i] > limits.aboveTexture * texture[i]) found[i] = 255;
    }
  };
  if (kind !== 'dark') {
    const opened = extreme(extreme(plane, 'least'), 'greatest');
    for (let i = 0; i < opened.length; i++) opened[i] = plane[i] - opened[i];
    mark(opened);
  }
  if (kind !== 'bright') {
    const closed = extreme(extreme(plane, 'greatest'), 'least');
    for (let i = 0; i < closed.length; i++) closed[i] -= plane[i];
    mark(closed);
  }
  for (const patch of findPatches(found, width, height)) {
    if (patch.length < leastDots) for (const i of patch) found[i] = 0;
  }
  return grow > 0 ? squareExtreme(found, width, height, grow, 'greatest') : found;
}

/**
 * Greatest (or least) value over squares of (2 · radius + 1)² dots, of those that lie inside: dilation (or erosion) by a square.
 * Windows double until two of them, overlapping, are as wide as the square, so the cost grows with the radius's logarithm only.
 * Source: the decomposition of flat squares into lines (textbook morphology). Test: against a search of every
 * square (test/unit/repair-defects.test.ts).
 * @param radius dots, whole, ≥ 0. @returns a new plane; not-a-number spreads.
 */
export function squareExtreme<Plane extends Float32Array | Uint8Array>(
  plane: Plane,
  width: number,
  height: number,
  radius: number,
  which: 'greatest' | 'least',
): Plane {
  const out = plane.slice() as Plane;
  if (radius < 1 || plane.length === 0) return out;
  const span = 2 * radius + 1;
  // Negated for the least. Beyond the edges lies nothing.
  const sign = which === 'greatest' ? 1 : -1;
  const row = new Float32Array(width + 2 * radius);
  const columns = new Float32Array((height + 2 * radius) * width).fill(Number.NEGATIVE_INFINITY);
  for (let y = 0; y < height; y++) {
    row.fill(Number.NEGATIVE_INFINITY);
    for (let x = 0, i = y * width; x < width; x++, i++) row[radius + x] = sign * plane[i];
    slide(row, span, 1);
    columns.set(row.subarray(0, width), (y + radius) * width);
  }
  slide(columns, span, width);
  for (let i = 0; i < out.length; i++) out[i] = sign * columns[i];
  return out;
}

/** Each value becomes the greatest of itself and the `span` − 1 that follow it `step` apart; those near the end see fewer. */
function slide(values: Float32Array, span: number, step: number): void {
  let reach = 1;
  while (reach < span) {
    const further = Math.min(reach, span - reach);
    const shift = further * step;
    for (let i = 0, end = values.length - shift; i < end; i++) values[i] = Math.max(values[i], values[i + shift]);
    reach += further;
  }
}
