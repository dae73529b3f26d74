import type { Point } from '../../base/geometry/point.ts';
import { isInside, signedDistanceMm } from '../../base/geometry/signed-distance.ts';
import type { PictureSettings, Slab } from '../../piece/schema.ts';
import { createFace } from '../raster/face.ts';
import { flawEdges } from './flaw-edges.ts';
import { picturePerimeter } from './perimeter.ts';

type Size = { readonly width: number; readonly height: number };

/** Room that is kept free inside the burnable area when a picture is fitted, mm. */
export const FIT_MARGIN_MM = 4;
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
  return Math.min(...along(picturePerimeter(picture, photo)).map(roomMm)) - slab.maskedRimMm;
}

/**
 * The picture as large as it can be at its place and turn with a margin inside the paintable area; null where not even a millimetre
 * fits.
 */
export function fitPicture(
  slab: Slab,
  picture: PictureSettings,
  photo: Size,
  marginMm: number = FIT_MARGIN_MM,
): PictureSettings | null {
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

/** How finely the photograph is resolved at its size on the slab, pixels per inch. */
export const photoPixelsPerInch = (picture: PictureSettings, photo: Size): number =>
  (25.4 * photo.width) / picture.widthMm;

/** What the resolution means at a row pitch, in one sentence; null where the photo has enough for the rows. */
export function resolutionSentence(picture: PictureSettings, photo: Size, rowPitchMm: number): string | null {
  const pixels = photoPixelsPerInch(picture, photo);
  const rows = 25.4 / rowPitchMm;
  if (pixels >= rows) return null;
  const told = `Your photo gives ${Math.round(pixels)} pixels per inch at this size; ${Math.round(rows)} rows per inch will not show more detail.`;
  return pixels < rows / 3 ? `${told} It is enlarged ${(rows / pixels).toFixed(1)} times and will look soft.` : told;
}

/** Knots and open cracks that the picture covers, wholly or in part; places to keep a face off. */
export function defectsUnder(
  slab: Slab,
  picture: PictureSettings,
  photo: Size,
): { readonly knots: number; readonly checks: number } {
  const perimeter = picturePerimeter(picture, photo);
  const covered = flawEdges(slab).filter(
    ({ edge }) => edge.some((point) => isInside(perimeter, point)) || perimeter.some((point) => isInside(edge, point)),
  );
  const knots = covered.filter(({ kind }) => kind === 'knot').length;
  return { knots, checks: covered.length - knots };
}
