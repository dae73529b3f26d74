import { type CSSProperties, type KeyboardEvent, type PointerEvent, useEffect, useMemo, useRef, useState } from 'react';
import type { BrushStroke, PictureSettings } from '../../core/piece/schema.ts';
import { useLengthText } from '../controls/use-length-text.ts';
import { BrushRing } from './BrushRing.tsx';
import type { BrushShape } from './brush-settings.ts';
import { drawVeil } from './draw-veil.ts';
import { finishStroke } from './finish-stroke.ts';
import { createMaskPixels } from './mask-pixels.ts';
import type { StrokePoint } from './thin-points.ts';

interface MaskSheetProps {
  bitmap: ImageBitmap;
  picture: PictureSettings;
  strokes: readonly BrushStroke[];
  brush: BrushShape;
  /** No more strokes are taken. */
  isFull: boolean;
  onStrokes: (strokes: readonly BrushStroke[]) => void;
}

/** The veil's longest side, pixels: soft enough when it is stretched, and quick to paint. */
const VEIL = 640;
/** How far an arrow key moves the brush, shares of the width. */
const STEP = 0.01;
const FAR_STEP = 0.05;
const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** The photograph under its veil; painted on with pointer or keys. Places are shares of the picture's width. */
export function MaskSheet({ bitmap, picture, strokes, brush, isFull, onStrokes }: MaskSheetProps) {
  const tall = bitmap.height / bitmap.width;
  const photo = useRef<HTMLCanvasElement>(null);
  const veil = useRef<HTMLCanvasElement>(null);
  const [at, setAt] = useState<StrokePoint>([0.5, tall / 2]);
  const [ring, setRing] = useState(false);
  const [live, setLive] = useState<readonly StrokePoint[] | null>(null);
  const pressed = useRef<StrokePoint[] | null>(null);
  const lastDab = useRef<StrokePoint | null>(null);
  const length = useLengthText();
  const width = Math.max(1, Math.round(tall > 1 ? VEIL / tall : VEIL));
  const height = Math.max(1, Math.round(width * tall));
  const { widthMm, crop, fallOffMm } = picture;
  const pixels = useMemo(
    () => createMaskPixels({ widthMm, crop, fallOffMm }, width, height),
    [widthMm, crop, fallOffMm, width, height],
  );

  useEffect(() => {
    photo.current?.getContext('2d')?.drawImage(bitmap, 0, 0);
  }, [bitmap]);
  useEffect(() => {
    if (veil.current) drawVeil(veil.current, pixels, strokes, live ? [{ ...brush, points: [...live] }] : []);
  }, [pixels, strokes, live, brush]);

  const place = (event: { clientX: number; clientY: number }, sheet: Element): StrokePoint => {
    const bounds = sheet.getBoundingClientRect();
    const share = (value: number, highest: number) => Math.min(highest, Math.max(0, value / bounds.width));
    return [share(event.clientX - bounds.left, 1), share(event.clientY - bounds.top, tall)];
  };
  const press = (event: PointerEvent) => {
    if (isFull || event.button !== 0 || pressed.current) return;
    event.currentTarget.setPointerCapture(event.pointerId);
    const here = place(event, event.currentTarget);
    pressed.current = [here];
    setAt(here);
    setLive([here]);
  };
  const move = (event: PointerEvent) => {
    setRing(true);
    setAt(place(event, event.currentTarget));
    const points = pressed.current;
    if (!points) return;
    const seen = event.nativeEvent.getCoalescedEvents?.() ?? [];
    for (const one of seen.length > 0 ? seen : [event]) {
      const [x, y] = place(one, event.currentTarget);
      const [fromX, fromY] = points[points.length - 1];
      if (Math.hypot(x - fromX, y - fromY) >= 0.1 * brush.radius) points.push([x, y]);
    }
    setLive([...points]);
  };
  const lift = () => {
    const points = pressed.current;
    pressed.current = null;
    setLive(null);
    if (!points) return;
    lastDab.current = points[points.length - 1];
    onStrokes(finishStroke(brush, points));
  };
  const drop = () => {
    pressed.current = null;
    setLive(null);
  };
  const byKey = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = ARROWS[event.key];
    if (!arrow && event.key !== ' ' && event.key !== 'Enter') return;
    event.preventDefault();
    setRing(true);
    if (arrow) {
      const step = event.shiftKey ? FAR_STEP : STEP;
      const hold = (value: number, highest: number) => Math.min(highest, Math.max(0, value));
      setAt(([x, y]) => [hold(x + step * arrow[0], 1), hold(y + step * arrow[1], tall)]);
    } else if (!event.repeat && !isFull) {
      onStrokes(finishStroke(brush, event.shiftKey && lastDab.current ? [lastDab.current, at] : [at]));
      lastDab.current = at;
    }
  };
  const where = `Brush ${length(at[0] * widthMm)} from the left and ${length(at[1] * widthMm)} from the top`;
  return (
    <div className="mask-frame">
      <div className="mask-fit">
        <div
          className="mask-sheet"
          role="application"
          // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
          tabIndex={0}
          aria-label="Photograph under its veil: paint with arrow keys and Space"
          style={{ '--ratio': 1 / tall } as CSSProperties}
          onKeyDown={byKey}
          onFocus={() => setRing(true)}
          onBlur={() => setRing(false)}
          onPointerDown={press}
          onPointerMove={move}
          onPointerUp={lift}
          onPointerCancel={drop}
          onPointerLeave={() => !pressed.current && setRing(false)}
        >
          <canvas ref={photo} width={bitmap.width} height={bitmap.height} />
          <canvas ref={veil} width={width} height={height} />
          {crop === 'oval' && <i className="mask-oval" aria-hidden="true" />}
          {ring && <BrushRing at={at} brush={brush} tall={tall} />}
        </div>
      </div>
      <p className="mask-where" aria-live="polite">
        {ring && !live ? where : ''}
      </p>
    </div>
  );
}
