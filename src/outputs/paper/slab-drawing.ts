import { escapeHtml } from '../../base/escape-html.ts';
import { boundsMm, type Point } from '../../base/geometry/outline.ts';
import { insetOutline } from '../../base/geometry/raster-mask.ts';
import { letteringOutlines } from '../../burn/lettering.ts';
import { picturePerimeter, slabPerimeter, slabToBed } from '../../physics/bed/bed.ts';
import type { Piece } from '../../piece/schema.ts';

type Size = { readonly width: number; readonly height: number };

const INK = '#2a2622';

const QUIET = '#8d8278';

const ACCENT = '#8a5a33';

/** The slab from above with its masking line, the picture's edge, knots and cracks, in mm. */
export function slabDrawing(piece: Piece, photo: Size): string {
  const { slab } = piece;
  const rim = slabPerimeter(slab);
  const { left, top, right, bottom } = boundsMm(rim);
  const pen = (right - left) / 300;
  const masked = slab.maskedRimMm > 0 ? maskingLine(rim, slab.maskedRimMm) : null;
  const parts = [
    path(rim, `fill="#efe7db" stroke="${INK}" stroke-width="${pen * 1.6}"`),
    masked
      ? path(masked, `fill="none" stroke="${QUIET}" stroke-width="${pen}" stroke-dasharray="${4 * pen} ${3 * pen}"`)
      : '',
    path(
      picturePerimeter(piece.slab, piece.picture, photo),
      `fill="none" stroke="${ACCENT}" stroke-width="${pen * 1.3}"`,
    ),
    ...letteringOutlines(piece, photo).map(lettering),
    ...slab.knots.map(
      ({ xMm, yMm, diameterMm }) =>
        `<ellipse cx="${number(xMm)}" cy="${number(yMm)}" rx="${number(diameterMm / 2)}" ry="${number(diameterMm / 2)}" fill="none" stroke="${QUIET}" stroke-width="${number(pen)}"/>`,
    ),
    ...slab.checks.map(({ xMm, yMm, lengthMm, headingRad }) => {
      const [x, y] = [(Math.cos(headingRad) * lengthMm) / 2, (-Math.sin(headingRad) * lengthMm) / 2];
      return line([xMm - x, yMm - y], [xMm + x, yMm + y], QUIET, pen);
    }),
    cross([piece.picture.offsetXMm, piece.picture.offsetYMm], 6 * pen, ACCENT, pen),
  ];
  return document(left, top, right - left, bottom - top, 4 * pen, parts);
}

/** The bed from above, the maker at its lower edge, with the slab and the picture where they lie, in mm. */
export function bedDrawing(piece: Piece, photo: Size): string {
  const { bedWidthMm: width, bedHeightMm: height } = piece.placement;
  const pen = Math.max(width, height) / 300;
  return document(0, 0, width, height, 5 * pen, [...bedParts(piece, pen), ...slabOnBed(piece, photo, pen)]);
}

/** A slab where it lies on a bed with others, and what it is called there. */
interface NumberedSlab {
  readonly number: number;
  readonly name: string;
  readonly piece: Piece;
  readonly photo: Size;
}

/** Distance of the marks along the edges of a bed, mm. */
const MARKS_MM = 50;

/**
 * A bed with several slabs, at true size: each with its number, its name and its middle's place, and marks along the near and the left edge
 * to measure from.
 */
export function bedOfSlabs(slabs: readonly NumberedSlab[]): string {
  const { bedWidthMm: width, bedHeightMm: height } = slabs[0].piece.placement;
  const pen = Math.max(width, height) / 300;
  const letter = 4 * pen;
  const marks = (length: number) => Array.from({ length: Math.floor(length / MARKS_MM) + 1 }, (_, i) => i * MARKS_MM);
  const parts = [
    ...bedParts(slabs[0].piece, pen),
    ...marks(width).flatMap((x) => [
      line([x, height], [x, height + 2 * letter], QUIET, pen),
      words(String(x), [x, height + 3.2 * letter], letter),
    ]),
    ...marks(height).flatMap((y) => [
      line([-2 * letter, height - y], [0, height - y], QUIET, pen),
      words(String(y), [-3.4 * letter, height - y + letter / 3], letter),
    ]),
    ...slabs.flatMap(({ number: count, name, piece, photo }) => {
      const [x, y] = [piece.placement.xMm, height - piece.placement.yMm];
      const place = `${number(piece.placement.xMm)}, ${number(piece.placement.yMm)}`;
      return [
        ...slabOnBed(piece, photo, pen),
        cross([x, y], 3 * pen, INK, pen),
        words(String(count), [x, y - 2 * letter], 2.4 * letter),
        words(`${place}${piece.placement.turnRad === 0 ? '' : ', turned'}`, [x, y + 3 * letter], letter),
        words(name, [x, y + 4.4 * letter], letter),
      ];
    }),
  ];
  const margin = 5 * letter;
  return document(0, 0, width, height, margin, parts).replace(
    '<svg ',
    `<svg width="${number(width + 2 * margin)}mm" height="${number(height + 2 * margin)}mm" `,
  );
}

const words = (text: string, [x, y]: Point, size: number): string =>
  `<text x="${number(x)}" y="${number(y)}" font-family="Public Sans, sans-serif" font-size="${number(size)}" text-anchor="middle" fill="${INK}">${escapeHtml(text)}</text>`;

const bedParts = ({ placement }: Piece, pen: number): string[] => {
  const { bedWidthMm: width, bedHeightMm: height } = placement;
  return [
    `<rect x="0" y="0" width="${number(width)}" height="${number(height)}" fill="#faf8f5" stroke="${QUIET}" stroke-width="${number(pen)}"/>`,
    `<circle cx="0" cy="${number(height)}" r="${number(3 * pen)}" fill="${INK}"/>`,
  ];
};

function slabOnBed(piece: Piece, photo: Size, pen: number): string[] {
  const onBed = (points: readonly Point[]): Point[] =>
    points.map((point) => {
      const [x, y] = slabToBed(piece.placement, point);
      return [x, piece.placement.bedHeightMm - y];
    });
  const [middle] = onBed([[piece.picture.offsetXMm, piece.picture.offsetYMm]]);
  return [
    path(onBed(slabPerimeter(piece.slab)), `fill="#efe7db" stroke="${INK}" stroke-width="${number(pen)}"`),
    path(
      onBed(picturePerimeter(piece.slab, piece.picture, photo)),
      `fill="none" stroke="${ACCENT}" stroke-width="${number(pen)}"`,
    ),
    ...letteringOutlines(piece, photo).map((outlines) => lettering(outlines.map(onBed))),
    cross(middle, 6 * pen, ACCENT, pen),
  ];
}

/** A rim so wide that nothing is left inside it has no line. */
function maskingLine(rim: readonly Point[], widthMm: number): readonly Point[] | null {
  try {
    return insetOutline(rim, widthMm);
  } catch {
    return null;
  }
}

const number = (mm: number): string => String(Number(mm.toFixed(2)));

const along = (points: readonly Point[]): string =>
  `${points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${number(x)} ${number(y)}`).join('')}Z`;

const path = (points: readonly Point[], style: string): string => `<path d="${along(points)}" ${style}/>`;

/** Letters and lines as they are burned. */
const lettering = (outlines: readonly (readonly Point[])[]): string =>
  outlines.length > 0 ? `<path d="${outlines.map(along).join('')}" fill="${ACCENT}"/>` : '';

const line = ([x1, y1]: Point, [x2, y2]: Point, color: string, pen: number): string =>
  `<path d="M${number(x1)} ${number(y1)}L${number(x2)} ${number(y2)}" fill="none" stroke="${color}" stroke-width="${number(pen)}"/>`;

const cross = ([x, y]: Point, arm: number, color: string, pen: number): string =>
  line([x - arm, y], [x + arm, y], color, pen) + line([x, y - arm], [x, y + arm], color, pen);

const document = (
  x: number,
  y: number,
  width: number,
  height: number,
  margin: number,
  parts: readonly string[],
): string =>
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${[x - margin, y - margin, width + 2 * margin, height + 2 * margin].map(number).join(' ')}" role="img">${parts.join('')}</svg>`;
