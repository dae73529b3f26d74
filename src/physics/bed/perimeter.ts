import type { Point } from '../../base/geometry/point.ts';
import { pictureFrame, turnOf, uprightHeightMm } from '../../piece/frame.ts';
import type { PictureSettings, Piece, Slab } from '../../piece/schema.ts';
import { slabToBed } from './bed.ts';

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

/** The picture's edge likewise: its crop, turned, at its place on the slab. */
export function picturePerimeter(picture: PictureSettings, photo: { width: number; height: number }): readonly Point[] {
  const { cosine, sine } = turnOf(picture);
  const shape = picture.crop === 'oval' ? ellipse : box;
  return shape(picture.widthMm / 2, uprightHeightMm(picture, photo) / 2).map(
    ([u, v]) => [picture.offsetXMm + u * cosine + v * sine, picture.offsetYMm - u * sine + v * cosine] as const,
  );
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
  const frame = pictureFrame(piece.picture, photo);
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
