import { type KeyboardEvent, type PointerEvent, useRef, useState } from 'react';
import type { BrushStroke } from '../../../piece/schema.ts';
import type { BrushShape } from './brush-settings.ts';
import { finishStroke } from './finish-stroke.ts';
import type { StrokePoint } from './thin-points.ts';

interface PaintingProps {
  brush: BrushShape;
  /** Height of the sheet over its width. */
  tall: number;
  isFull: boolean;
  onStrokes: (strokes: readonly BrushStroke[]) => void;
}

/** How far an arrow key moves the brush, shares of the width. */
const STEP = 0.01;
const FAR_STEP = 0.05;
const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** The brush on a sheet, led by pointer or keys: where it is, whether its ring shows, and what it is drawing just now. */
export function usePainting({ brush, tall, isFull, onStrokes }: PaintingProps) {
  const [at, setAt] = useState<StrokePoint>([0.5, tall / 2]);
  const [ring, setRing] = useState(false);
  const [live, setLive] = useState<readonly StrokePoint[] | null>(null);
  const pressed = useRef<StrokePoint[] | null>(null);
  const lastDab = useRef<StrokePoint | null>(null);

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
  const handlers = {
    onKeyDown: byKey,
    onFocus: () => setRing(true),
    onBlur: () => setRing(false),
    onPointerDown: press,
    onPointerMove: move,
    onPointerUp: lift,
    onPointerCancel: drop,
    onPointerLeave: () => {
      if (!pressed.current) setRing(false);
    },
  };
  return { at, ring, live, handlers };
}
