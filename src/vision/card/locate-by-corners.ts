import { fitHomography, invertHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/point.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import type { Card } from './card.ts';
import { markCentres, readCode } from './geometry.ts';
import { bitsAt, type LocatedCard, shrink } from './locate-card.ts';
import { ReadingError } from './reading.ts';

/**
 * Where a card lies by the middles of its corner marks as somebody pointed them out, clockwise from the card's left top. Its code may be
 * unreadable then, but must not be another card's.
 * @throws ReadingError if the corners make no card, or the code names another one.
 */
export function locateByCorners(photo: RgbaPhoto, marksPx: readonly Point[], card: Card): LocatedCard {
  const corners = markCentres(card).map(([x, y]): Point => [x, y]);
  const turned = 'these corners make no card: put each on the middle of its mark, clockwise from the card’s left top';
  const shrunk = shrink(photo);
  try {
    const toMm = fitHomography(marksPx, corners);
    const map = fitHomography(
      marksPx.map(([x, y]): Point => [x / shrunk.by, y / shrunk.by]),
      corners,
    );
    const code = readCode(bitsAt(shrunk, invertHomography(map), card));
    if (code && (code.kind !== card.kind || code.id !== card.id)) {
      throw new ReadingError(
        `this is card ${code.id} (${code.kind}), not card ${card.id} (${card.kind}); give the file of the card in the photo`,
      );
    }
    const across = Math.hypot(marksPx[1][0] - marksPx[0][0], marksPx[1][1] - marksPx[0][1]);
    return { toMm, marksPx, pxPerMm: across / (corners[1][0] - corners[0][0]) };
  } catch (error) {
    if (error instanceof ReadingError) throw error;
    throw new ReadingError(turned);
  }
}
