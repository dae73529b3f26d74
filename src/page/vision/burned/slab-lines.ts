import { applyHomography, fitHomography } from '../../../base/geometry/homography.ts';
import type { Point } from '../../../base/geometry/point.ts';
import { pictureFrame } from '../../../piece/frame.ts';
import type { Piece } from '../../../piece/schema.ts';

const AROUND = 96;

/** The slab's outline and the picture's edge as they lie in the photo, closed lines in pixels; null while the corners make no sense. */
export function slabLines(
  { slab, picture }: Piece,
  ratio: number,
  corners: readonly Point[],
): { slab: Point[]; picture: Point[] } | null {
  const [x, y] = [slab.widthMm / 2, slab.heightMm / 2];
  const box: Point[] = [
    [-x, -y],
    [x, -y],
    [x, y],
    [-x, y],
  ];
  try {
    const toPhoto = fitHomography(box, corners);
    const laid = (points: readonly Point[]) =>
      points.flatMap((point): Point[] => {
        const at = applyHomography(toPhoto, point);
        return at ? [at] : [];
      });
    const outline = slab.shape === 'oval' ? oval(x, y) : slab.shape === 'outline' ? slab.outlineMm : box;
    const { widthMm, heightMm } = pictureFrame(picture, { width: 1, height: ratio });
    const [u, v] = [widthMm / 2, heightMm / 2];
    const edge: Point[] =
      picture.crop === 'oval' && picture.rotationRad === 0
        ? oval(u, v)
        : [
            [-u, -v],
            [u, -v],
            [u, v],
            [-u, v],
          ];
    const placed = edge.map(([a, b]): Point => [a + picture.offsetXMm, b + picture.offsetYMm]);
    return { slab: laid(outline), picture: laid(placed) };
  } catch {
    return null;
  }
}

const oval = (a: number, b: number): Point[] =>
  Array.from({ length: AROUND }, (_, i) => {
    const angle = (2 * Math.PI * i) / AROUND;
    return [a * Math.cos(angle), b * Math.sin(angle)];
  });
