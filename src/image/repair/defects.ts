import { boxMean } from './box-mean.ts';
import { findPatches } from './patches.ts';
import { squareExtreme } from './square-extreme.ts';
import type { ShouldStop } from './stop.ts';

export interface DefectOptions {
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
  readonly shouldStop?: ShouldStop;
}

export const DEFECT_DEFAULTS: DefectOptions = {
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
 * @throws RangeError if the radius is not a whole number 1–50; Cancelled.
 */
export function findDefects(
  plane: Float32Array,
  width: number,
  height: number,
  options: Partial<DefectOptions> = {},
): Uint8Array {
  const { kind, radius, leastDots, grow, shouldStop, ...limits } = { ...DEFECT_DEFAULTS, ...options };
  if (!(Number.isInteger(radius) && radius >= 1 && radius <= 50)) {
    throw new RangeError(`defects need a radius of 1 to 50 dots, got ${radius}`);
  }
  const found = new Uint8Array(plane.length);
  const extreme = (from: Float32Array, which: 'greatest' | 'least') =>
    squareExtreme(from, width, height, radius, which, shouldStop);
  const reach = TEXTURE_RADII * radius;
  const mark = (hat: Float32Array) => {
    const texture = boxMean(hat, width, height, reach, shouldStop);
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
  return grow > 0 ? squareExtreme(found, width, height, grow, 'greatest', shouldStop) : found;
}
