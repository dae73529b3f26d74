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
  const onBed = (points: readonly Point[]): Point[] =>
    points.map((point) => {
      const [x, y] = slabToBed(piece.placement, point);
      return [x, height - y];
    });
  const [middle] = onBed([[piece.picture.offsetXMm, piece.picture.offsetYMm]]);
  const parts = [
    `<rect x="0" y="0" width="${number(width)}" height="${number(height)}" fill="#faf8f5" stroke="${QUIET}" stroke-width="${number(pen)}"/>`,
    path(onBed(slabPerimeter(piece.slab)), `fill="#efe7db" stroke="${INK}" stroke-width="${number(pen)}"`),
    path(
      onBed(picturePerimeter(piece.slab, piece.picture, photo)),
      `fill="none" stroke="${ACCENT}" stroke-width="${number(pen)}"`,
    ),
    ...letteringOutlines(piece, photo).map((outlines) => lettering(outlines.map(onBed))),
    cross(middle, 6 * pen, ACCENT, pen),
    `<circle cx="0" cy="${number(height)}" r="${number(3 * pen)}" fill="${INK}"/>`,
  ];
  return document(0, 0, width, height, 5 * pen, parts);
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
