import { findCrossing } from '../../base/geometry/crossing.ts';
import { maskWhere } from '../../base/geometry/mask-where.ts';
import type { Point, Polygon } from '../../base/geometry/point.ts';
import { moved, perimeterMm } from '../../base/geometry/polygon.ts';
import { checkPhoto, LEAST_SIDE_PX, type TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { isInside } from '../../base/geometry/signed-distance.ts';
import { simplifyOutline } from '../../base/geometry/simplify.ts';
import { smoothOutline } from '../../base/geometry/smooth-outline.ts';
import { traceBoundary } from '../../base/geometry/trace-boundary.ts';
import { blurGaussian } from '../../image/gaussian-blur.ts';
import { labPlanes } from './lab-planes.ts';
import { maskDepth } from './mask-depth.ts';
import { refineEdge } from './refine-edge.ts';
import { standOut } from './stand-out.ts';

export type SlabRefusal = 'too-few-pixels' | 'nothing-stands-out' | 'fills-the-photo' | 'too-small';

export type SlabFinding =
  | {
      readonly kind: 'found';
      /** Clockwise, mm, in the photo's own frame. */
      readonly outline: Polygon;
      /** Share of what the photo shows that the slab takes. */
      readonly share: number;
      /** Sentences for the maker about what to look at. */
      readonly notes: readonly string[];
    }
  | { readonly kind: 'refused'; readonly reason: SlabRefusal; readonly message: string };

export interface SegmentOptions {
  /** Standard deviation of the smoothing along the outline, mm. */
  readonly smoothMm: number;
  /** How far the thinned-out outline may lie from the full one, mm. */
  readonly toleranceMm: number;
  /** Areas to look away from (the card, the ruler), mm in the photo's frame. */
  readonly ignore: readonly Polygon[];
}
export const SEGMENT_DEFAULTS: SegmentOptions = { smoothMm: 0.6, toleranceMm: 0.05, ignore: [] };

/** Blur against noise, pixels. */
const BLUR_PX = 1;
/** Pixels along the photo's edge that are looked away from, and how far in the table is taken to reach, share of the short side. */
const RIM_PX = 4;
const BAND = 0.06;
const LEAST_SHARE = 0.01;
/** Share of the slab's own line that lies along the photo's edge at which it counts as filling the photo, and as running off it. */
const FILLS = 0.5;
const RUNS_OFF = 0.01;

/**
 * Finds the slab in a rectified photo as the largest thing that differs in colour from the table. The table's colour is modelled from the
 * photo's border (`distanceFromBackground`), then again from all that was found not to be slab; the distance in L*a*b* is cut in
 * two by Otsu's threshold; the largest part, its holes filled, is traced and its edge refined below the pixel. A hard shadow counts
 * as slab: light from all sides is needed. A table of the bark's own colour hides the bark.
 * Accuracy: within 0.2 mm on 95 % of the length in photos rendered from known outlines at 0.4 mm a pixel; tested to 0.5 mm.
 * Test: test/unit/slab-from-photo.test.ts, test/unit/slab-segment.test.ts.
 * @throws RangeError if the photo's bytes are not as many as its size says.
 */
export function findSlabOutline(photo: TrueSizePhoto, options: Partial<SegmentOptions> = {}): SlabFinding {
  const { smoothMm, toleranceMm, ignore } = { ...SEGMENT_DEFAULTS, ...options };
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  if (width < LEAST_SIDE_PX || height < LEAST_SIDE_PX) {
    return refuse(
      'too-few-pixels',
      `the photo is ${width} × ${height} pixels; at least ${LEAST_SIDE_PX} a side are needed`,
    );
  }
  checkPhoto(photo);
  const visible = maskWhere(width * height, (i) => photo.rgba[4 * i + 3] >= 128);
  const depth = maskDepth(visible, width, height);
  const looked = maskWhere(depth.length, (i) => depth[i] > RIM_PX);
  lookAway(looked, photo, ignore);
  const planes = labPlanes(photo);
  const cover = blurGaussian(new Float32Array(visible), width, height, BLUR_PX);
  for (const plane of [planes.L, planes.a, planes.b]) {
    const blurred = blurGaussian(
      plane.map((value, i) => (visible[i] ? value : 0)),
      width,
      height,
      BLUR_PX,
    );
    for (let i = 0; i < plane.length; i++) plane[i] = visible[i] ? blurred[i] / cover[i] : 0;
  }

  const band = RIM_PX + Math.max(4, BAND * Math.min(width, height));
  let seen = maskWhere(depth.length, (i) => looked[i] === 1 && depth[i] <= band);
  let round = standOut(planes, seen, looked, width, height);
  if (round) {
    const beside = maskDepth(
      round.mask.map((value) => 1 - value),
      width,
      height,
    );
    seen = maskWhere(depth.length, (i) => looked[i] === 1 && beside[i] > 2 * RIM_PX);
    round = standOut(planes, seen, looked, width, height) ?? round;
  }
  if (!round) {
    return refuse(
      'nothing-stands-out',
      'nothing in the photo stands out from what lies along its edge: leave a rim of table round the slab, and choose a table of another colour than its bark',
    );
  }
  const traced = traceBoundary(round.mask, round.distance, width, height, round.threshold);
  let shown = 0;
  let alongEdge = 0;
  for (let i = 0; i < visible.length; i++) {
    if (visible[i]) shown++;
    if (depth[i] === RIM_PX + 1 && round.mask[i]) alongEdge++;
  }
  const share = round.count / shown;
  const onEdge = alongEdge / perimeterMm(traced);
  if (onEdge > FILLS) {
    return refuse(
      'fills-the-photo',
      'what stands out lies along the edge of the photo: step back until the table shows all round the slab',
    );
  }
  if (share < LEAST_SHARE) {
    const percent = (100 * share).toFixed(1);
    return refuse(
      'too-small',
      `the largest thing in the photo takes up only ${percent} % of it: come closer to the slab`,
    );
  }

  const toMm = ([x, y]: Point): Point => [x * mmPerPixel, y * mmPerPixel];
  const smooth = smoothOutline(refineEdge(traced, round.distance, width, height).map(toMm), smoothMm);
  const simple = [simplifyOutline(smooth, toleranceMm), smooth, traced.map(toMm)].find((line) => !findCrossing(line));
  if (!simple) return refuse('nothing-stands-out', 'the edge of the slab cannot be told from the table');
  const notes =
    onEdge > RUNS_OFF
      ? ['The slab runs off the photo; there the outline follows the edge of the photo: draw it with the handles.']
      : [];
  return { kind: 'found', outline: moved(simple, leftMm, topMm), share, notes };
}

const refuse = (reason: SlabRefusal, message: string): SlabFinding => ({ kind: 'refused', reason, message });

function lookAway(looked: Uint8Array, photo: TrueSizePhoto, areas: readonly Polygon[]): void {
  const { width, mmPerPixel, leftMm, topMm } = photo;
  if (areas.length === 0) return;
  for (let i = 0; i < looked.length; i++) {
    const x = leftMm + ((i % width) + 0.5) * mmPerPixel;
    const y = topMm + (Math.floor(i / width) + 0.5) * mmPerPixel;
    if (areas.some((area) => isInside(area, [x, y]))) looked[i] = 0;
  }
}
