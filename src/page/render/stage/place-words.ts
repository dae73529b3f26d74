import { radToDeg } from '../../../base/units.ts';
import { defectsUnder, roomAroundMm } from '../../../physics/bed/fit-picture.ts';
import type { Piece } from '../../../piece/schema.ts';

type Placed = Pick<Piece, 'slab' | 'picture'>;
type Size = { readonly width: number; readonly height: number };

/** "300 mm × 225 mm, 12 mm right, turned 4° clockwise": from the middle of the slab. */
export function placeWords({ picture }: Pick<Piece, 'picture'>, photo: Size, length: (mm: number) => string): string {
  const { widthMm, offsetXMm, offsetYMm, rotationRad } = picture;
  const off = [
    offsetXMm !== 0 && `${length(Math.abs(offsetXMm))} ${offsetXMm > 0 ? 'right' : 'left'}`,
    offsetYMm !== 0 && `${length(Math.abs(offsetYMm))} ${offsetYMm > 0 ? 'down' : 'up'}`,
  ].filter(Boolean);
  const degrees = Math.round(10 * radToDeg(rotationRad)) / 10;
  return [
    `${length(widthMm)} × ${length((widthMm * photo.height) / photo.width)}`,
    off.length === 0 ? 'in the middle' : off.join(', '),
    degrees !== 0 && `turned ${Math.abs(degrees)}° ${degrees > 0 ? 'counter-clockwise' : 'clockwise'}`,
  ]
    .filter(Boolean)
    .join(', ');
}

/** What the picture lies over that it had better not; null if nothing. */
export function flawWords({ slab, picture }: Placed, photo: Size): string | null {
  const { knots, checks } = defectsUnder(slab, picture, photo);
  const words = [
    knots > 0 && (knots === 1 ? 'a knot' : `${knots} knots`),
    checks > 0 && (checks === 1 ? 'an open check' : `${checks} open checks`),
  ].filter(Boolean);
  return words.length > 0 ? `Over ${words.join(' and ')}: keep faces off.` : null;
}

/** How far the picture reaches where nothing is painted; null if it does not. */
export function beyondWords({ slab, picture }: Placed, photo: Size, length: (mm: number) => string): string | null {
  const room = roomAroundMm(slab, picture, photo);
  return room < 0 ? `Reaches ${length(-room)} beyond what is painted.` : null;
}
