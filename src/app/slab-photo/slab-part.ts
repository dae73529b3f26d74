import type { Slab } from '../../core/piece/schema.ts';
import { centreOutline } from '../../core/slab/centre-outline.ts';
import { boundsMm } from '../../core/slab/polygon.ts';
import type { Draft } from './draft.ts';

/** What the schema takes. */
const MOST_ITEMS = 12;
const LEAST_SIDE_MM = 5;
const LARGEST_SIDE_MM = 3000;
/** A photo does not show how deep a check goes. */
const CHECK_DEPTH_MM = 3;

/**
 * What a draft makes of the slab: outline about its own origin, box, knots, checks, and the taped rim if it was seen and is wanted.
 * @throws RangeError with a sentence if the outline crosses itself or has a size that no slab has.
 */
export function slabPart(draft: Draft): Partial<Slab> {
  const { outline, middle } = centreOutline(draft.outline);
  const { left, top, right, bottom } = boundsMm(outline);
  const [widthMm, heightMm] = [hundredth(right - left), hundredth(bottom - top)];
  if (Math.min(widthMm, heightMm) < LEAST_SIDE_MM || Math.max(widthMm, heightMm) > LARGEST_SIDE_MM) {
    throw new RangeError(
      `The outline is ${widthMm} × ${heightMm} mm; a slab has ${LEAST_SIDE_MM} to ${LARGEST_SIDE_MM} mm a side. Check what gives the scale.`,
    );
  }
  const place = ({ xMm, yMm }: { xMm: number; yMm: number }) => ({
    xMm: hundredth(xMm - middle[0]),
    yMm: hundredth(yMm - middle[1]),
  });
  const kept = draft.defects.flatMap(({ defect, on }) => (on ? [defect] : []));
  const rimMm = draft.tapeRim ? draft.rim?.maskedRimMm : null;
  return {
    shape: 'outline',
    outlineMm: outline.map(([x, y]): [number, number] => [hundredth(x), hundredth(y)]),
    widthMm,
    heightMm,
    // A pasted outline says nothing about the wood: what was there stays.
    ...(draft.face && {
      knots: kept
        .flatMap((defect) =>
          defect.kind === 'knot'
            ? [{ ...place(defect), diameterMm: within(defect.diameterMm, 1, 300), tiltRad: 0, filled: true }]
            : [],
        )
        .slice(0, MOST_ITEMS),
      checks: kept
        .flatMap((defect) =>
          defect.kind === 'check'
            ? [
                {
                  ...place(defect),
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
    }),
    ...(rimMm != null && { maskedRimMm: within(rimMm, 0, 200) }),
  };
}

const hundredth = (mm: number): number => Math.round(100 * mm) / 100;
const within = (value: number, low: number, high: number): number =>
  Math.min(high, Math.max(low, Math.round(100 * value) / 100));
