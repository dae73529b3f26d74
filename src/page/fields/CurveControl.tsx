import { type KeyboardEvent, type PointerEvent, useRef } from 'react';
import { createMonotoneCurve } from '../../image/tone.ts';

type Point = readonly [number, number];

interface CurveControlProps {
  label: string;
  hint: string;
  points: readonly Point[];
  /** Heights at which something changes on the slab, each with a word. */
  levels?: readonly { readonly at: number; readonly words: string }[];
  onChange: (points: [number, number][]) => void;
}

const STRAIGHT: readonly Point[] = [
  [0, 0],
  [1, 1],
];
const NUDGE = 0.02;
/** How near a press must be to take a point instead of making one, as a share of the box. */
const GRAB = 0.06;
const MOST_POINTS = 32;

/** A curve from 0–1 to 0–1 through points: press to make one, drag it or move it with the arrow keys, Delete removes it. */
export function CurveControl({ label, hint, points, levels = [], onChange }: CurveControlProps) {
  const box = useRef<SVGSVGElement>(null);
  const dragged = useRef<number | null>(null);
  const shown = points.length > 0 ? points : STRAIGHT;
  const curve = createMonotoneCurve(shown);
  const path = Array.from({ length: 65 }, (_, i) => `${i / 64},${1 - Math.min(1, Math.max(0, curve(i / 64)))}`).join(
    ' ',
  );

  const place = (event: PointerEvent): Point => {
    const rect = box.current!.getBoundingClientRect();
    const clip = (value: number) => Math.min(1, Math.max(0, value));
    return [clip((event.clientX - rect.left) / rect.width), clip(1 - (event.clientY - rect.top) / rect.height)];
  };
  const put = (index: number, [x, y]: Point): void => {
    const low = index === 0 ? 0 : shown[index - 1][0] + 0.005;
    const high = index === shown.length - 1 ? 1 : shown[index + 1][0] - 0.005;
    const next = shown.map((point): [number, number] => [point[0], point[1]]);
    next[index] = [Math.min(high, Math.max(low, x)), Math.min(1, Math.max(0, y))];
    onChange(next);
  };
  const remove = (index: number): void => {
    if (shown.length > 2) onChange(shown.filter((_, i) => i !== index).map(([x, y]) => [x, y]));
  };

  const press = (event: PointerEvent<SVGSVGElement>) => {
    const at = place(event);
    const distances = shown.map(([x, y]) => Math.hypot(x - at[0], y - at[1]));
    const nearest = distances.indexOf(Math.min(...distances));
    event.currentTarget.setPointerCapture(event.pointerId);
    if (distances[nearest] < GRAB) {
      dragged.current = nearest;
      return;
    }
    if (shown.length >= MOST_POINTS || shown.some(([x]) => Math.abs(x - at[0]) < 0.005)) return;
    const next = [...shown.map(([x, y]): [number, number] => [x, y]), [at[0], at[1]] as [number, number]];
    next.sort((a, b) => a[0] - b[0]);
    dragged.current = next.findIndex(([x]) => x === at[0]);
    onChange(next);
  };
  const key = (event: KeyboardEvent, index: number) => {
    const [x, y] = shown[index];
    const moves: Record<string, Point> = {
      ArrowUp: [x, y + NUDGE],
      ArrowDown: [x, y - NUDGE],
      ArrowLeft: [x - NUDGE, y],
      ArrowRight: [x + NUDGE, y],
    };
    if (event.key in moves) put(index, moves[event.key]);
    else if (event.key === 'Delete' || event.key === 'Backspace') remove(index);
    else return;
    event.preventDefault();
  };

  return (
    <div className="curve-control">
      <span className="pair-label">{label}</span>
      {/* biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be a drawing */}
      <svg
        ref={box}
        viewBox="-0.03 -0.03 1.06 1.06"
        role="group"
        aria-label={label}
        onPointerDown={press}
        onPointerMove={(event) => {
          if (dragged.current !== null) put(dragged.current, place(event));
        }}
        onPointerUp={() => {
          dragged.current = null;
        }}
        onDoubleClick={(event) => {
          const at = place(event as unknown as PointerEvent);
          const index = shown.findIndex(([x, y]) => Math.hypot(x - at[0], y - at[1]) < GRAB);
          if (index > 0 && index < shown.length - 1) remove(index);
        }}
      >
        <path d="M0,1 L1,0" className="curve-grid" />
        {levels.map(({ at, words }) => (
          <g key={words} className="curve-level">
            <line x1={0} x2={1} y1={1 - at} y2={1 - at} />
            <text x={0.985} y={at < 0.08 ? 0.985 - at : 1.05 - at} textAnchor="end">
              {words}
            </text>
          </g>
        ))}
        <polyline points={path} className="curve-line" />
        {shown.map(([x, y], index) => (
          <circle
            // biome-ignore lint/suspicious/noArrayIndexKey: points have no identity but their place
            key={index}
            cx={x}
            cy={1 - y}
            r={0.025}
            tabIndex={0}
            role="slider"
            aria-label={`${label}, point ${index + 1}`}
            aria-valuenow={Math.round(100 * y)}
            aria-valuetext={`${Math.round(100 * x)} becomes ${Math.round(100 * y)}`}
            onKeyDown={(event) => key(event, index)}
            className="curve-point"
          />
        ))}
      </svg>
      <div className="curve-axes" aria-hidden="true">
        <span>dark</span>
        <span>photograph → slab</span>
        <span>light</span>
      </div>
      <p className="hint">{hint} A double press removes a point.</p>
    </div>
  );
}
