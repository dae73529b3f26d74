import { BRIEF_CAUTIONS } from '../../base/cautions.ts';
import type { Point } from '../../base/geometry/outline.ts';
import { insetOutline } from '../../base/geometry/raster-mask.ts';
import { burnBox, burnFrame, turnOf, uprightHeightMm } from '../../piece/frame.ts';
import type { Lettering, PictureSettings, Piece, Placement, Slab } from '../../piece/schema.ts';
import { placeKnot } from '../wood/grain.ts';

/**
 * Places on the slab (from its centre, y growing downwards) as places on the bed (from its near left corner, y growing away from the
 * maker), mm.
 */
export function slabToBed({ xMm, yMm, turnRad }: Placement, [x, y]: Point): [number, number] {
  const cosine = Math.cos(turnRad);
  const sine = Math.sin(turnRad);
  return [xMm + x * cosine + y * sine, yMm + x * sine - y * cosine];
}

interface Registration {
  readonly xMm: number;
  readonly yMm: number;
  readonly turnRad: number;
  /** How much farther apart the marks are on the bed than on the slab. */
  readonly mismatchMm: number;
}

/**
 * Where the slab lies, from two marks on it and where the machine finds them: turn and shift, no scale. What does not fit is shared
 * between both marks.
 * @throws RangeError if two marks are at one place.
 */
export function registerMarks(slab: readonly [Point, Point], bed: readonly [Point, Point]): Registration {
  const across = (points: readonly [Point, Point], flip: number): [number, number] => [
    points[1][0] - points[0][0],
    flip * (points[1][1] - points[0][1]),
  ];
  const [sx, sy] = across(slab, -1);
  const [bx, by] = across(bed, 1);
  const slabLength = Math.hypot(sx, sy);
  const bedLength = Math.hypot(bx, by);
  if (slabLength < 1e-6 || bedLength < 1e-6)
    throw new RangeError('two marks at one place do not show how the slab is turned');
  const turnRad = Math.atan2(sx * by - sy * bx, sx * bx + sy * by);
  const middle = (points: readonly [Point, Point]): [number, number] => [
    (points[0][0] + points[1][0]) / 2,
    (points[0][1] + points[1][1]) / 2,
  ];
  const cosine = Math.cos(turnRad);
  const sine = Math.sin(turnRad);
  const [mx, my] = middle(slab);
  const [ox, oy] = middle(bed);
  return {
    xMm: ox - (mx * cosine + my * sine),
    yMm: oy - (mx * sine - my * cosine),
    turnRad,
    mismatchMm: bedLength - slabLength,
  };
}

/** Corners of a smooth curve are so far apart, mm. */
const STEP_MM = 2;

const ellipse = (a: number, b: number): Point[] => {
  const count = Math.max(24, Math.ceil((Math.PI * (a + b)) / STEP_MM));
  return Array.from({ length: count }, (_, i) => {
    const turn = (2 * Math.PI * i) / count;
    return [a * Math.cos(turn), b * Math.sin(turn)] as const;
  });
};

const box = (a: number, b: number): Point[] => [
  [-a, -b],
  [a, -b],
  [a, b],
  [-a, b],
];

/** The slab's rim as a closed path from its centre, mm; the first place is not repeated. */
export function slabPerimeter({ shape, widthMm, heightMm, outlineMm }: Slab): readonly Point[] {
  if (shape === 'outline') return withoutDoubles(outlineMm);
  return (shape === 'oval' ? ellipse : box)(widthMm / 2, heightMm / 2);
}

/** A corner that was set twice is one. */
const withoutDoubles = (points: readonly Point[]): readonly Point[] =>
  points.filter(([x, y], i) => i === 0 || x !== points[i - 1][0] || y !== points[i - 1][1]);

/** The slab's rim drawn in by so much; null where nothing is left. The last few are kept: a picture that is moved asks again and again. */
export function insetPerimeter(slab: Slab, insetMm: number): readonly Point[] | null {
  const rim = slabPerimeter(slab);
  if (insetMm === 0) return rim;
  if (slab.shape === 'rectangle') {
    const [a, b] = [slab.widthMm / 2 - insetMm, slab.heightMm / 2 - insetMm];
    return a > 0 && b > 0 ? box(a, b) : null;
  }
  return insetLine(rim, insetMm);
}

function insetLine(rim: readonly Point[], insetMm: number): readonly Point[] | null {
  const key = JSON.stringify([rim, insetMm]);
  const known = insets.get(key);
  if (known !== undefined) return known;
  let inset: readonly Point[] | null = null;
  try {
    inset = insetOutline(rim, insetMm);
  } catch {
    // Narrower than twice the distance.
  }
  insets.set(key, inset);
  for (const old of [...insets.keys()].slice(0, -MOST_INSETS)) insets.delete(old);
  return inset;
}

const insets = new Map<string, readonly Point[] | null>();

const MOST_INSETS = 8;

/** The picture's edge likewise: its crop, turned, at its place on the slab. */
export function picturePerimeter(
  slab: Slab,
  picture: PictureSettings,
  photo: { width: number; height: number },
): readonly Point[] {
  const { cosine, sine } = turnOf(picture);
  const [a, b] = [picture.widthMm / 2, uprightHeightMm(picture, photo) / 2];
  const onSlab = ([u, v]: Point): Point => [
    picture.offsetXMm + u * cosine + v * sine,
    picture.offsetYMm - u * sine + v * cosine,
  ];
  if (picture.crop === 'oval') return ellipse(a, b).map(onSlab);
  const rim = picture.crop === 'outline' ? insetPerimeter(slab, picture.rimMm) : null;
  if (!rim) return box(a, b).map(onSlab);
  const alongBox = rim.map(([x, y]): Point => {
    const [dx, dy] = [x - picture.offsetXMm, y - picture.offsetYMm];
    return [dx * cosine - dy * sine, dx * sine + dy * cosine];
  });
  const inBox = clippedToBox(alongBox, a, b);
  return (inBox.length >= 3 ? inBox : box(a, b)).map(onSlab);
}

/** The edge of all that is burned: with lettering beside the picture the box round both, or the slab's own edge where some follows its rim. */
export function burnPerimeter(piece: Piece, photo: { width: number; height: number }): readonly Point[] {
  const { slab, picture } = piece;
  if (picture.lettering.length === 0) return picturePerimeter(slab, picture, photo);
  const followsRim = (one: Lettering) => (one.kind === 'border' ? one.follows === 'rim' : one.place.along === 'rim');
  if (picture.lettering.some(followsRim)) return slabPerimeter(slab);
  const { left, top, right, bottom } = burnBox(piece, photo);
  return [
    [left, top],
    [right, top],
    [right, bottom],
    [left, bottom],
  ];
}

/** A line round the picture at a distance from its edge, outwards; null where nothing is left inside. A rectangle keeps its corners. */
export function aroundPicture(
  slab: Slab,
  picture: PictureSettings,
  photo: { width: number; height: number },
  outwardsMm: number,
): readonly Point[] | null {
  if (picture.crop !== 'rectangle') return insetLine(picturePerimeter(slab, picture, photo), -outwardsMm);
  const { cosine, sine } = turnOf(picture);
  const [a, b] = [picture.widthMm / 2 + outwardsMm, uprightHeightMm(picture, photo) / 2 + outwardsMm];
  if (!(a > 0 && b > 0)) return null;
  return box(a, b).map(
    ([u, v]): Point => [picture.offsetXMm + u * cosine + v * sine, picture.offsetYMm - u * sine + v * cosine],
  );
}

/**
 * What of an outline lies in a box about the origin.
 * Source: I. E. Sutherland, G. W. Hodgman, "Reentrant polygon clipping", Communications of the ACM 17, 1974.
 */
function clippedToBox(outline: readonly Point[], a: number, b: number): readonly Point[] {
  let left = outline;
  for (const [axis, side] of [
    [0, -1],
    [0, 1],
    [1, -1],
    [1, 1],
  ] as const) {
    const most = axis === 0 ? a : b;
    left = left.flatMap((from, i): Point[] => {
      const to = left[(i + 1) % left.length];
      const [here, there] = [most - side * from[axis], most - side * to[axis]];
      const share = here / (here - there);
      const meets: Point[] =
        here < 0 !== there < 0 ? [[from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]] : [];
      return here < 0 ? meets : [from, ...meets];
    });
  }
  return left;
}

/** What is in the way of the walk and of the burn; empty when all is well. Sentences for the maker. */
export function placementWarnings(piece: Piece, photo: { width: number; height: number }): string[] {
  const { placement, machine, slab } = piece;
  const warnings: string[] = [];
  const beyond = (points: readonly Point[], margin: number): number =>
    Math.max(
      ...points.map((point) => {
        const [x, y] = slabToBed(placement, point);
        return Math.max(margin - x, margin - y, x + margin - placement.bedWidthMm, y + margin - placement.bedHeightMm);
      }),
    );
  const rim = beyond(slabPerimeter(slab), placement.clearanceMm);
  if (rim > 1e-9) {
    warnings.push(
      `The slab with ${round(placement.clearanceMm)} mm of clearance reaches ${round(rim)} mm beyond the bed; move or turn it.`,
    );
  }
  const frame = burnFrame(piece, photo);
  const half = frame.widthMm / 2 + machine.motion.runUpMm;
  const { offsetXMm, offsetYMm } = piece.picture;
  const runUps: Point[] = [-1, 1].flatMap((side) =>
    [-1, 1].map((end) => [offsetXMm + side * half, offsetYMm + (end * frame.heightMm) / 2] as const),
  );
  const run = beyond(runUps, 0);
  if (run > 1e-9) {
    warnings.push(
      `The run-ups of ${round(machine.motion.runUpMm)} mm beside the picture reach ${round(run)} mm beyond the bed; shorten them or move the slab.`,
    );
  }
  return warnings;
}

const round = (value: number): number => Math.round(10 * value) / 10;

/** A knot or an open drying check of a slab, and its edge seen from above, closed. */
interface FlawEdge {
  readonly kind: 'knot' | 'check';
  readonly edge: readonly Point[];
}

const KNOT_POINTS = 28;

/** What is thinner would not be seen, mm. */
const THINNEST_MM = 1.6;

/** Where a face had better not be; filled checks are flush and painted over. */
export function flawEdges(slab: Slab): FlawEdge[] {
  const round = slab.knots.map((knot): FlawEdge => {
    const { xMm, yMm, radiusMm, stretch, cosine, sine } = placeKnot(knot, slab);
    const edge = Array.from({ length: KNOT_POINTS }, (_, i): Point => {
      const t = (2 * Math.PI * i) / KNOT_POINTS;
      const [u, v] = [stretch * radiusMm * Math.cos(t), radiusMm * Math.sin(t)];
      return [xMm + u * cosine - v * sine, yMm + u * sine + v * cosine];
    });
    return { kind: 'knot', edge };
  });
  const long = slab.checks
    .filter(({ filled }) => !filled)
    .map(({ xMm, yMm, lengthMm, widthMm, headingRad }): FlawEdge => {
      const [c, s] = [Math.cos(headingRad), Math.sin(headingRad)];
      const [a, b] = [lengthMm / 2, Math.max(widthMm, THINNEST_MM) / 2];
      const at = (u: number, v: number): Point => [xMm + u * c - v * s, yMm + u * s + v * c];
      return {
        kind: 'check',
        edge: [at(-a, 0), at(-0.5 * a, b), at(0.5 * a, b), at(a, 0), at(0.5 * a, -b), at(-0.5 * a, -b)],
      };
    });
  return [...round, ...long];
}

/** How to lay a further pass onto the one before, step by step. Common practice, no published source. */
export function registrationSteps({ placement, machine }: Pick<Piece, 'placement' | 'machine'>): string[] {
  const parked = machine.control.park === 'picture-centre';
  return [
    'Leave the slab clamped where it is; if it has to come off, mark its outline on the bed with tape first.',
    'Do not home or switch off between passes: homing again can land a few tenths of a millimetre off.',
    parked
      ? 'The pass before ends parked over the middle of the picture. Start the next one from there, without moving the head by hand.'
      : 'Let every pass end parked over the middle of the picture (Hand over › For the machine › Controller), so that the next one can start from there.',
    placement.referenceMark
      ? 'Put the head over the reference mark in the margin and check with the beam at its lowest that it still meets the mark.'
      : 'There is no reference mark on this piece. A small one in the margin, burned with the first pass, shows at once if something moved (Hand over › Place on the bed).',
    'Keep row pitch, heading and rows as they were: the dots must fall on the dots of the pass before.',
    'Burn the ladder first on an edge of the picture, from the lowest power up, and stop at the first step that clears.',
    BRIEF_CAUTIONS.join(' '),
  ];
}
