import { boundsMm, type Point } from '../../base/geometry/outline.ts';
import { isInside, signedDistanceMm } from '../../base/geometry/raster-mask.ts';
import { tallnessOf, turnOf } from '../../piece/frame.ts';
import type { PictureSettings, Slab } from '../../piece/schema.ts';
import { createFace } from '../raster/face.ts';
import { flawEdges, insetPerimeter, picturePerimeter } from './bed.ts';

/** A picture on the slab as a box that can be moved: middle from the slab's centre (y growing downwards), size before its turn, turn counter-clockwise. */
export interface PlacedBox {
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly turnRad: number;
}

export const SMALLEST_BOX_MM = 5;

export const LARGEST_BOX_MM = 3000;

/** A box farther off lies on no slab. */
const FARTHEST_MM = 3000;

/** A place told along the box's own sides from its middle (u to the right, v downwards) → from the slab's centre. */
export function fromBox({ centreXMm, centreYMm, turnRad }: PlacedBox, [u, v]: Point): Point {
  const [c, s] = [Math.cos(turnRad), Math.sin(turnRad)];
  return [centreXMm + u * c + v * s, centreYMm - u * s + v * c];
}

/** Top left, top right, bottom right, bottom left, as the picture itself has them. */
export const boxCorners = (box: PlacedBox): readonly [Point, Point, Point, Point] => {
  const [a, b] = [box.widthMm / 2, box.heightMm / 2];
  return [fromBox(box, [-a, -b]), fromBox(box, [a, -b]), fromBox(box, [a, b]), fromBox(box, [-a, b])];
};

/** The edge of the picture as it is cropped, closed, the first place not repeated. */
export function boxEdge(box: PlacedBox, crop: 'rectangle' | 'oval'): readonly Point[] {
  if (crop === 'rectangle') return boxCorners(box);
  return Array.from({ length: OVAL_POINTS }, (_, i) => {
    const t = (2 * Math.PI * i) / OVAL_POINTS;
    return fromBox(box, [(box.widthMm / 2) * Math.cos(t), (box.heightMm / 2) * Math.sin(t)]);
  });
}

const OVAL_POINTS = 72;

/** The box moved; each way for itself it comes to rest on the slab's centre when it gets nearer than `snapMm`. */
export function movedBox(box: PlacedBox, [dxMm, dyMm]: Point, snapMm = 0): PlacedBox {
  const settle = (mm: number) => (Math.abs(mm) < snapMm ? 0 : within(mm, -FARTHEST_MM, FARTHEST_MM));
  return { ...box, centreXMm: settle(box.centreXMm + dxMm), centreYMm: settle(box.centreYMm + dyMm) };
}

/** The box scaled about its middle, within what a picture may measure. */
export function scaledBox(box: PlacedBox, factor: number): PlacedBox {
  const least = SMALLEST_BOX_MM / Math.min(box.widthMm, box.heightMm);
  const most = LARGEST_BOX_MM / Math.max(box.widthMm, box.heightMm);
  const share = Math.max(Math.min(factor, most), Math.min(least, 1));
  return { ...box, widthMm: box.widthMm * share, heightMm: box.heightMm * share };
}

/** The box pulled by a corner (0 top left, clockwise on) to a place; the corner across stays where it is. */
export function pulledBox(box: PlacedBox, corner: 0 | 1 | 2 | 3, to: Point): PlacedBox {
  const corners = boxCorners(box);
  const [from, across] = [corners[corner], corners[(corner + 2) % 4]];
  const [x, y] = [from[0] - across[0], from[1] - across[1]];
  // The place may lie off the diagonal: its foot on it counts.
  const factor = ((to[0] - across[0]) * x + (to[1] - across[1]) * y) / (x * x + y * y);
  const scaled = scaledBox(box, factor);
  const share = scaled.widthMm / box.widthMm;
  return { ...scaled, centreXMm: across[0] + (share * x) / 2, centreYMm: across[1] + (share * y) / 2 };
}

/** The box turned to an angle (−π to π); it comes to rest on quarter turns when it gets nearer than `snapRad`. */
export function turnedBox(box: PlacedBox, turnRad: number, snapRad = 0): PlacedBox {
  const quarter = (Math.round(turnRad / (Math.PI / 2)) * Math.PI) / 2;
  const settled = Math.abs(turnRad - quarter) < snapRad ? quarter : turnRad;
  const turns = Math.round(settled / (2 * Math.PI)) * 2 * Math.PI;
  return { ...box, turnRad: within(settled - turns, -Math.PI, Math.PI) };
}

const within = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

type Size = { readonly width: number; readonly height: number };

/** Room that is kept free inside the burnable area when a picture is fitted, mm. */
const FIT_MARGIN_MM = 4;

const LARGEST_MM = 3000;

const SMALLEST_MM = 1;

/** How near the largest fitting width is found. */
const NEAR_MM = 0.01;

/** Places along a closed path, not farther apart than this, mm: a rim may bend in between corners. */
const BETWEEN_MM = 3;

function along(points: readonly Point[]): Point[] {
  return points.flatMap((point, i) => {
    const next = points[(i + 1) % points.length];
    const steps = Math.max(1, Math.ceil(Math.hypot(next[0] - point[0], next[1] - point[1]) / BETWEEN_MM));
    return Array.from({ length: steps }, (_, k): Point => {
      const share = k / steps;
      return [point[0] + share * (next[0] - point[0]), point[1] + share * (next[1] - point[1])];
    });
  });
}

/** Least distance in mm from the picture's edge to the edge of the paintable area (rim less what is taped); negative where it reaches beyond. */
export function roomAroundMm(slab: Slab, picture: PictureSettings, photo: Size): number {
  const { shape, outlineMm } = slab;
  const face = createFace(slab);
  // For so few places it is quicker to ask an outline itself than its table of distances, if that was not made yet.
  const roomMm = ([x, y]: Point) =>
    shape === 'outline' ? signedDistanceMm(outlineMm, [x, y]) : face.rimDistanceMm(x, y);
  return Math.min(...along(picturePerimeter(slab, picture, photo)).map(roomMm)) - slab.maskedRimMm;
}

/**
 * The picture as large as it can be at its place and turn with a margin inside the paintable area; null where not even a millimetre
 * fits. One whose crop follows the rim is moved so that it just covers all within it.
 */
export function fitPicture(
  slab: Slab,
  picture: PictureSettings,
  photo: Size,
  marginMm: number = FIT_MARGIN_MM,
): PictureSettings | null {
  if (picture.crop === 'outline') return coveringPicture(slab, picture, photo);
  const fits = (widthMm: number) => roomAroundMm(slab, { ...picture, widthMm }, photo) >= marginMm;
  if (!fits(SMALLEST_MM)) return null;
  let low = SMALLEST_MM;
  let high = Math.min(LARGEST_MM, 2 * Math.max(slab.widthMm, slab.heightMm));
  while (high - low > NEAR_MM) {
    const middle = (low + high) / 2;
    if (fits(middle)) low = middle;
    else high = middle;
  }
  // Bisection ends a hair below what fits.
  return { ...picture, widthMm: Math.floor((low + NEAR_MM) * 10 + 1e-6) / 10 };
}

function coveringPicture(slab: Slab, picture: PictureSettings, photo: Size): PictureSettings | null {
  const rim = insetPerimeter(slab, picture.rimMm);
  if (!rim) return null;
  const { cosine, sine } = turnOf(picture);
  const along = rim.map(([x, y]): Point => [x * cosine - y * sine, x * sine + y * cosine]);
  const { left, right, top, bottom } = boundsMm(along);
  const [u, v] = [(left + right) / 2, (top + bottom) / 2];
  const widthMm = Math.max(right - left, (bottom - top) / tallnessOf(picture, photo));
  return {
    ...picture,
    offsetXMm: u * cosine + v * sine,
    offsetYMm: -u * sine + v * cosine,
    widthMm: within(Math.ceil(10 * widthMm) / 10, SMALLEST_MM, LARGEST_MM),
  };
}

/** How finely the photograph is resolved at its size on the slab, pixels per inch. */
export const photoPixelsPerInch = (picture: PictureSettings, photo: Size): number =>
  (25.4 * photo.width * (picture.cut?.width ?? 1)) / picture.widthMm;

/** What the resolution means at a row pitch, in one sentence; null where the photo has enough for the rows. */
export function resolutionSentence(picture: PictureSettings, photo: Size, rowPitchMm: number): string | null {
  const pixels = photoPixelsPerInch(picture, photo);
  const rows = 25.4 / rowPitchMm;
  if (pixels >= rows) return null;
  const told = `Your photograph gives ${Math.round(pixels)} pixels per inch at this size; ${Math.round(rows)} rows per inch will not show more detail.`;
  return pixels < rows / 3 ? `${told} It is enlarged ${(rows / pixels).toFixed(1)} times and will look soft.` : told;
}

/** Knots and open cracks that the picture covers, wholly or in part; places to keep a face off. */
export function defectsUnder(
  slab: Slab,
  picture: PictureSettings,
  photo: Size,
): { readonly knots: number; readonly checks: number } {
  const perimeter = picturePerimeter(slab, picture, photo);
  const covered = flawEdges(slab).filter(
    ({ edge }) => edge.some((point) => isInside(perimeter, point)) || perimeter.some((point) => isInside(edge, point)),
  );
  const knots = covered.filter(({ kind }) => kind === 'knot').length;
  return { knots, checks: covered.length - knots };
}
