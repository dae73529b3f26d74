import { type CSSProperties, type PointerEvent, type ReactNode, useEffect, useRef } from 'react';
import type { Point } from '../../../base/geometry/point.ts';
import type { BoundsMm } from '../../../base/geometry/polygon.ts';
import type { Quarters } from '../../../vision/slab/quarter-turn.ts';

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
    if (event.target instanceof Element && event.target.closest('.sp-handle')) return;
    onPress?.(placeOnSheet(event, view));
  };
  return (
    <section className="sp-frame" aria-label={label}>
      <div className="sp-sheet" style={{ '--ratio': width / height } as CSSProperties} onPointerDown={press}>
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
export function placeOnSheet(event: PointerEvent, view: BoundsMm): Point {
  const bounds = event.currentTarget.closest('.sp-sheet')?.getBoundingClientRect() ?? new DOMRect(0, 0, 1, 1);
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
  return <canvas ref={canvas} className="sp-picture" style={style} />;
}
