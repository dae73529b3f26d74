import { type CSSProperties, type KeyboardEvent, type PointerEvent, type ReactNode, useEffect, useRef } from 'react';
import type { BoundsMm, Point } from '../../../base/geometry/outline.ts';
import { ARROWS } from '../../../render/gestures.ts';
import type { Quarters } from '../../../vision/slab/slab-part.ts';
import { MARK_NAMES, type SlabPhoto, useSlabPhotoStore } from './slab-photo-store.ts';

interface SheetProps {
  label: string;
  /** The part of the plane that is shown, in the units of whatever lies on it. */
  view: BoundsMm;
  picture: { readonly bitmap: ImageBitmap; readonly quarters: Quarters; readonly box: BoundsMm } | null;
  /** Something was pressed that is no handle. */
  onPress?: (at: Point) => void;
  children: ReactNode;
}

/** A picture as large as fits into its place, with things laid on it by their own coordinates. */
export function Sheet({ label, view, picture, onPress, children }: SheetProps) {
  const [width, height] = [view.right - view.left, view.bottom - view.top];
  const press = (event: PointerEvent) => {
    if (event.target instanceof Element && event.target.closest('.photo-handle')) return;
    onPress?.(placeOnSheet(event, view));
  };
  return (
    <section className="photo-frame" aria-label={label}>
      <div className="photo-sheet" style={{ '--ratio': width / height } as CSSProperties} onPointerDown={press}>
        {picture && (
          <Picture
            bitmap={picture.bitmap}
            quarters={picture.quarters}
            style={{
              left: `${(100 * (picture.box.left - view.left)) / width}%`,
              top: `${(100 * (picture.box.top - view.top)) / height}%`,
              width: `${(100 * (picture.box.right - picture.box.left)) / width}%`,
              height: `${(100 * (picture.box.bottom - picture.box.top)) / height}%`,
            }}
          />
        )}
        {children}
      </div>
    </section>
  );
}

/** Where on the sheet under it an event happened. */
function placeOnSheet(event: PointerEvent, view: BoundsMm): Point {
  const bounds = event.currentTarget.closest('.photo-sheet')?.getBoundingClientRect() ?? new DOMRect(0, 0, 1, 1);
  return [
    view.left + ((event.clientX - bounds.left) / bounds.width) * (view.right - view.left),
    view.top + ((event.clientY - bounds.top) / bounds.height) * (view.bottom - view.top),
  ];
}

interface PictureProps {
  bitmap: ImageBitmap;
  quarters: Quarters;
  style: CSSProperties;
}

function Picture({ bitmap, quarters, style }: PictureProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const target = canvas.current;
    if (!target) return;
    const { width, height } = bitmap;
    target.width = quarters % 2 === 0 ? width : height;
    target.height = quarters % 2 === 0 ? height : width;
    const context = target.getContext('2d');
    context?.translate(target.width / 2, target.height / 2);
    context?.rotate((quarters * Math.PI) / 2);
    context?.drawImage(bitmap, -width / 2, -height / 2);
  }, [bitmap, quarters]);
  return <canvas ref={canvas} className="photo-picture" style={style} />;
}

interface HandleProps {
  label: string;
  at: Point;
  view: BoundsMm;
  /** Where it is, in words. */
  place: string;
  /** How far an arrow key moves it, in the sheet's units, and how far with Shift. */
  step: number;
  shiftStep: number;
  active?: boolean;
  dot?: boolean;
  onFocus?: () => void;
  /** @param gesture the same for everything that belongs to one drag, or to keys that follow one another. */
  onMove: (to: Point, gesture: string) => void;
}

let drags = 0;

/** A point that is dragged, or moved with the arrow keys. */
export function Handle({ label, at, view, place, step, shiftStep, active, dot, onFocus, onMove }: HandleProps) {
  /** From the pointer to the handle's middle, so that it does not jump when it is picked up. */
  const grip = useRef<Point | null>(null);
  const byKey = (event: KeyboardEvent) => {
    const arrow = ARROWS[event.key];
    if (!arrow || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const far = event.shiftKey ? shiftStep : step;
    onMove([at[0] + far * arrow[0], at[1] + far * arrow[1]], `${label}, keys`);
  };
  const drag = (event: PointerEvent) => {
    if (!grip.current) return;
    const [x, y] = placeOnSheet(event, view);
    onMove([x + grip.current[0], y + grip.current[1]], `${label}, drag ${drags}`);
  };
  return (
    <div
      role="slider"
      tabIndex={0}
      className={`photo-handle${active ? ' photo-handle-active' : ''}${dot ? ' photo-handle-dot' : ''}`}
      aria-label={label}
      aria-valuemin={Math.round(view.left)}
      aria-valuemax={Math.round(view.right)}
      aria-valuenow={Math.round(at[0])}
      aria-valuetext={place}
      style={{
        left: `${(100 * (at[0] - view.left)) / (view.right - view.left)}%`,
        top: `${(100 * (at[1] - view.top)) / (view.bottom - view.top)}%`,
      }}
      onFocus={onFocus}
      onKeyDown={byKey}
      onPointerDown={(event) => {
        const [x, y] = placeOnSheet(event, view);
        grip.current = [at[0] - x, at[1] - y];
        drags++;
        event.currentTarget.setPointerCapture(event.pointerId);
      }}
      onPointerMove={drag}
      onPointerUp={() => {
        grip.current = null;
      }}
      onPointerCancel={() => {
        grip.current = null;
      }}
    />
  );
}

const SIZE = 176;

const TIMES = 4;

/** The photo round the mark that is being placed, four times as large. */
export function Magnifier({ photo }: { photo: SlabPhoto }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { kind, points } = useSlabPhotoStore((state) => state.work.marks);
  const active = useSlabPhotoStore((state) => Math.min(state.active, MARK_NAMES[kind].length - 1));
  const [x, y] = points[kind][active];
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const side = SIZE / TIMES;
    context.clearRect(0, 0, SIZE, SIZE);
    context.imageSmoothingEnabled = false;
    context.drawImage(photo.bitmap, x - side / 2, y - side / 2, side, side, 0, 0, SIZE, SIZE);
  }, [photo, x, y]);
  return (
    <figure className="photo-magnifier">
      <div>
        <canvas ref={canvas} width={SIZE} height={SIZE} />
      </div>
      <figcaption className="hint">{MARK_NAMES[kind][active]}, four times as large</figcaption>
    </figure>
  );
}
