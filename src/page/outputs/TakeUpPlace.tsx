import type { TakeUp } from '../../outputs/program/take-up.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import { picturePerimeter, slabPerimeter } from '../../physics/bed/perimeter.ts';
import { pictureFrame } from '../../piece/frame.ts';
import type { Piece } from '../../piece/schema.ts';

interface TakeUpPlaceProps {
  readonly piece: Piece;
  readonly photo: { readonly width: number; readonly height: number };
  readonly found: TakeUp;
  /** Place on the bed that the program's positions count from, mm. */
  readonly zero: readonly [number, number];
}

/** The slab as it lies on the bed, with the row from which the burn goes on. */
export function TakeUpPlace({ piece, photo, found, zero }: TakeUpPlaceProps) {
  const onPaper = (places: readonly (readonly [number, number])[]) =>
    places.map(([x, y]) => `${x.toFixed(2)},${(-y).toFixed(2)}`).join(' ');
  const slab = slabPerimeter(piece.slab).map((place) => slabToBed(piece.placement, place));
  const picture = picturePerimeter(piece.picture, photo).map((place) => slabToBed(piece.placement, place));
  const [left, right] = [Math.min(...slab.map(([x]) => x)), Math.max(...slab.map(([x]) => x))];
  const [near, far] = [Math.min(...slab.map(([, y]) => y)), Math.max(...slab.map(([, y]) => y))];
  const row = [found.from, found.to].map(([x, y]) => [x + zero[0], y + zero[1]] as const);
  const margin = 0.03 * (right - left);
  const box = [left - margin, -far - margin, right - left + 2 * margin, far - near + 2 * margin];
  const { heightMm } = pictureFrame(piece.picture, photo);
  return (
    <svg
      className="take-up-place"
      viewBox={box.map((value) => value.toFixed(2)).join(' ')}
      role="img"
      aria-label={`Row ${found.row} on the slab, ${found.fromEdgeMm.toFixed(1)} mm into a picture ${heightMm.toFixed(1)} mm high`}
    >
      <polygon className="slab" points={onPaper(slab)} />
      <polygon className="picture" points={onPaper(picture)} />
      <polyline className="row" points={onPaper(row)} />
    </svg>
  );
}
