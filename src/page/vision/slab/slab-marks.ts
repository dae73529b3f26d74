import type { Point } from '../../../base/geometry/point.ts';
import type { Marks } from '../../../vision/slab/scale.ts';

export type ScaleKind = 'card' | 'rectangle' | 'ruler';

/** What the maker has marked on the photo, in its pixels; each kind keeps its own points. */
export interface SlabMarks {
  readonly kind: ScaleKind;
  readonly points: Readonly<Record<ScaleKind, readonly Point[]>>;
  /** True size of the rectangle, and the length between the two points on the ruler. */
  readonly widthMm: number;
  readonly heightMm: number;
  readonly lengthMm: number;
  /** Distortion of the lens, 0 if it is not known. */
  readonly k1: number;
}

const CORNERS = ['top left', 'top right', 'bottom right', 'bottom left'] as const;
export const MARK_NAMES: Readonly<Record<ScaleKind, readonly string[]>> = {
  card: CORNERS.map((corner) => `Card, ${corner}`),
  rectangle: CORNERS.map((corner) => `Rectangle, ${corner}`),
  ruler: ['Ruler, first mark', 'Ruler, second mark'],
};

/** Marks as they lie on a photo that has just been opened. */
export function startMarks(width: number, height: number): SlabMarks {
  const box = (share: number, ratio: number): Point[] => {
    const x = Math.min(share * width, share * height * ratio) / 2;
    const y = x / ratio;
    const [cx, cy] = [width / 2, height / 2];
    return [
      [cx - x, cy - y],
      [cx + x, cy - y],
      [cx + x, cy + y],
      [cx - x, cy + y],
    ];
  };
  return {
    kind: 'card',
    points: {
      card: box(0.3, 1.586),
      rectangle: box(0.7, width / height),
      ruler: [
        [0.3 * width, 0.9 * height],
        [0.7 * width, 0.9 * height],
      ],
    },
    widthMm: 300,
    heightMm: 200,
    lengthMm: 100,
    k1: 0,
  };
}

/**
 * The marks as the scale takes them.
 * @throws RangeError with a sentence if a length is not greater than zero.
 */
export function marksForScale({ kind, points, widthMm, heightMm, lengthMm }: SlabMarks): Marks {
  if (kind === 'card') return { kind, corners: points.card };
  if (kind === 'rectangle') {
    if (!(widthMm > 0 && heightMm > 0)) {
      throw new RangeError(
        'The rectangle has a side of 0 mm, which gives no scale. Type in its true width and height.',
      );
    }
    return { kind, corners: points.rectangle, widthMm, heightMm };
  }
  if (!(lengthMm > 0)) {
    throw new RangeError('A length of 0 mm gives no scale. Read off the ruler how far the two marks lie apart.');
  }
  return { kind, ends: points.ruler, lengthMm };
}
