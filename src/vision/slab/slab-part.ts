import { centreOutline } from '../../base/geometry/centre-outline.ts';
import type { Point, Polygon } from '../../base/geometry/point.ts';
import { type BoundsMm, boundsMm } from '../../base/geometry/polygon.ts';
import type { Slab } from '../../piece/schema.ts';
import type { Defect } from './defects.ts';

/** A slab that was found in a photograph, or drawn; mm in a frame of its own. */
export interface FoundSlab {
  readonly outline: Polygon;
  /** Null: only drawn, which says nothing about the wood. */
  readonly wood: {
    /** The knots and checks that are wanted. */
    readonly defects: readonly Defect[];
    /** Its picture and where that lies. */
    readonly photo: { readonly file: string; readonly box: BoundsMm };
  } | null;
  /** Rim to be taped off; null leaves what was. */
  readonly maskedRimMm: number | null;
}

/** What the schema takes. */
const MOST_ITEMS = 12;
const LEAST_SIDE_MM = 5;
const LARGEST_SIDE_MM = 3000;
/** A photo does not show how deep a check goes. */
const CHECK_DEPTH_MM = 3;

/**
 * What a found slab says about a piece's: outline about its own origin, box, knots, checks, its picture, and the rim to be taped.
 * @throws RangeError with a sentence if the outline crosses itself or has a size that no slab has.
 */
export function slabPart({ outline: found, wood, maskedRimMm }: FoundSlab): Partial<Slab> {
  const { outline, middle } = centreOutline(found);
  const { left, top, right, bottom } = boundsMm(outline);
  const [widthMm, heightMm] = [hundredth(right - left), hundredth(bottom - top)];
  if (Math.min(widthMm, heightMm) < LEAST_SIDE_MM || Math.max(widthMm, heightMm) > LARGEST_SIDE_MM) {
    throw new RangeError(
      `The outline is ${widthMm} × ${heightMm} mm; a slab has ${LEAST_SIDE_MM} to ${LARGEST_SIDE_MM} mm a side. Check what gives the scale.`,
    );
  }
  return {
    shape: 'outline',
    outlineMm: outline.map(([x, y]): [number, number] => [hundredth(x), hundredth(y)]),
    widthMm,
    heightMm,
    // Drawn anew, the outline is not the one that was photographed.
    ...(wood ? woodPart(wood, middle) : { photo: null }),
    ...(maskedRimMm !== null && { maskedRimMm: within(maskedRimMm, 0, 200) }),
  };
}

function woodPart({ defects, photo }: NonNullable<FoundSlab['wood']>, middle: Point): Partial<Slab> {
  const place = (xMm: number, yMm: number) => ({ xMm: hundredth(xMm - middle[0]), yMm: hundredth(yMm - middle[1]) });
  const { left, top, right, bottom } = photo.box;
  return {
    knots: defects
      .flatMap((defect) =>
        defect.kind === 'knot'
          ? [
              {
                ...place(defect.xMm, defect.yMm),
                diameterMm: within(defect.diameterMm, 1, 300),
                tiltRad: 0,
                filled: true,
              },
            ]
          : [],
      )
      .slice(0, MOST_ITEMS),
    checks: defects
      .flatMap((defect) =>
        defect.kind === 'check'
          ? [
              {
                ...place(defect.xMm, defect.yMm),
                lengthMm: within(defect.lengthMm, 1, 1000),
                headingRad: defect.headingRad,
                widthMm: within(defect.widthMm, 0.05, 20),
                depthMm: CHECK_DEPTH_MM,
                filled: false,
              },
            ]
          : [],
      )
      .slice(0, MOST_ITEMS),
    photo: {
      file: photo.file,
      ...place((left + right) / 2, (top + bottom) / 2),
      widthMm: right - left,
      heightMm: bottom - top,
      shown: true,
    },
  };
}

const hundredth = (mm: number): number => Math.round(100 * mm) / 100;
const within = (value: number, low: number, high: number): number =>
  Math.min(high, Math.max(low, Math.round(100 * value) / 100));
