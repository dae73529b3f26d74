import { type KeyboardEvent, type PointerEvent, useRef } from 'react';
import type { Point } from '../../../base/geometry/point.ts';
import type { BoundsMm } from '../../../base/geometry/polygon.ts';
import { placeOnSheet } from './Sheet.tsx';

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

const ARROWS: Readonly<Record<string, Point>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};
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
      className={`sp-handle${active ? ' sp-handle-active' : ''}${dot ? ' sp-handle-dot' : ''}`}
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
