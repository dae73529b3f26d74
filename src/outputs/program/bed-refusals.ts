import type { Piece } from '../../piece/schema.ts';
import type { JobRefusal } from './mend.ts';
import type { BedBox } from './travel-box.ts';

const SLACK_MM = 1e-6;

interface OffBed {
  readonly piece: Piece;
  readonly box: BedBox;
  /** Must stay on the bed as well if the slab is moved. */
  readonly also: readonly BedBox[];
  /** As in "The slab". */
  readonly what: string;
  /** What makes it smaller where the bed is too small for it, as in "a narrower picture". */
  readonly smaller: string;
}

/** Refuses what reaches beyond the bed, with the place of the slab where it would not, if there is one. */
export function offBedRefusal({ piece, box, also, what, smaller }: OffBed): JobRefusal | null {
  const { bedWidthMm, bedHeightMm, xMm, yMm } = piece.placement;
  const beyond: [number, string][] = [
    [-box.left, 'left'],
    [box.right - bedWidthMm, 'right'],
    [-box.near, 'near'],
    [box.far - bedHeightMm, 'far'],
  ];
  const over = beyond.filter(([mm]) => mm > SLACK_MM);
  if (over.length === 0) return null;
  const where = over.map(([mm, edge]) => `${tenths(mm)} mm beyond the bed’s ${edge} edge`).join(' and ');
  const dx = shift(
    [box, ...also].map(({ left, right }) => [left, right]),
    bedWidthMm,
  );
  const dy = shift(
    [box, ...also].map(({ near, far }) => [near, far]),
    bedHeightMm,
  );
  if (dx === null || dy === null) {
    const needs = `${tenths(box.right - box.left)} × ${tenths(box.far - box.near)} mm`;
    const bed = `${tenths(bedWidthMm)} × ${tenths(bedHeightMm)} mm`;
    return {
      message: `${what} reaches ${where}. It takes ${needs} and the bed has ${bed}: it wants a larger bed, another turn or ${smaller}.`,
      mend: null,
    };
  }
  const x = tidy(xMm + dx, dx);
  const y = tidy(yMm + dy, dy);
  return {
    message: `${what} reaches ${where}. The nearest place that works has the slab’s middle at ${x} mm from the left and ${y} mm from the front.`,
    mend: { label: 'Move the slab there', placement: { xMm: x, yMm: y } },
  };
}

/** Smallest move that brings all stretches between 0 and `room`; null if there is none. */
function shift(stretches: readonly (readonly [number, number])[], room: number): number | null {
  const low = Math.max(...stretches.map(([from]) => -from));
  const high = Math.min(...stretches.map(([, to]) => room - to));
  if (low > high + SLACK_MM) return null;
  return low > 0 ? low : Math.min(high, 0);
}

/** In tenths of a millimetre, rounded in the direction of the move, so that it is enough. */
const tidy = (mm: number, moved: number): number => {
  if (moved === 0) return mm;
  return (moved > 0 ? Math.ceil(mm * 10 - 1e-6) : Math.floor(mm * 10 + 1e-6)) / 10;
};
const tenths = (mm: number): number => Math.ceil(mm * 10 - 1e-6) / 10;
