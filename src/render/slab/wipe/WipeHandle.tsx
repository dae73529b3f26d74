import { type CSSProperties, type KeyboardEvent, type PointerEvent, useEffect, useLayoutEffect, useRef } from 'react';
import { type SightBus, type SightState, wipeToX, xToWipe } from '../sight/sight-bus.ts';

const GRIP = 40;

const lineStyle: CSSProperties = {
  position: 'absolute',
  left: -GRIP / 2,
  top: 0,
  width: GRIP,
  border: 0,
  padding: 0,
  background:
    'linear-gradient(90deg, transparent 19px, rgb(35 30 25 / 0.55) 19px 19.25px, #fbf6ea 19.25px 20.75px, rgb(35 30 25 / 0.55) 20.75px 21px, transparent 21px)',
  cursor: 'ew-resize',
  touchAction: 'none',
};

/** The line that divides the slab between two proofs. */
export function WipeHandle({ wipe, onChange, bus }: { wipe: number; onChange: (wipe: number) => void; bus: SightBus }) {
  const line = useRef<HTMLDivElement>(null);
  const grab = useRef<number | null>(null);
  const current = useRef(wipe);
  current.current = wipe;

  const place = useRef((state: SightState) => {
    if (!line.current) return;
    line.current.style.transform = `translate(${wipeToX(current.current, state)}px, ${state.stage.top}px)`;
    line.current.style.height = `${state.stage.bottom - state.stage.top}px`;
  });
  useEffect(() => bus.subscribe(place.current), [bus]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the line follows the wipe as well as the camera
  useLayoutEffect(() => place.current(bus.current), [bus, wipe]);

  const onPointerDown = (event: PointerEvent<HTMLDivElement>): void => {
    event.currentTarget.setPointerCapture(event.pointerId);
    const box = event.currentTarget.getBoundingClientRect();
    grab.current = event.clientX - (box.left + box.width / 2);
  };
  const onPointerMove = (event: PointerEvent<HTMLDivElement>): void => {
    const frame = event.currentTarget.parentElement?.getBoundingClientRect();
    if (grab.current === null || !frame) return;
    onChange(xToWipe(event.clientX - grab.current - frame.left, bus.current));
  };
  const release = (): void => {
    grab.current = null;
  };
  const onKeyDown = (event: KeyboardEvent<HTMLDivElement>): void => {
    const step = event.shiftKey ? 0.1 : 0.01;
    const moves: Record<string, number> = {
      ArrowLeft: wipe - step,
      ArrowDown: wipe - step,
      ArrowRight: wipe + step,
      ArrowUp: wipe + step,
      PageDown: wipe - 0.1,
      PageUp: wipe + 0.1,
      Home: 0,
      End: 1,
    };
    const next = moves[event.key];
    if (next === undefined) return;
    event.preventDefault();
    onChange(Math.min(1, Math.max(0, next)));
  };

  return (
    <div
      ref={line}
      className="slab-view__wipe"
      style={lineStyle}
      role="slider"
      tabIndex={0}
      aria-label="Wipe between the two proofs"
      aria-orientation="horizontal"
      aria-valuemin={0}
      aria-valuemax={100}
      aria-valuenow={Math.round(wipe * 100)}
      aria-valuetext={`Left proof on ${Math.round(wipe * 100)} % of the slab`}
      onPointerDown={onPointerDown}
      onPointerMove={onPointerMove}
      onPointerUp={release}
      onPointerCancel={release}
      onKeyDown={onKeyDown}
    >
      <svg
        viewBox="-20 -20 40 40"
        width={GRIP}
        height={GRIP}
        aria-hidden="true"
        style={{ position: 'absolute', left: 0, top: '50%', marginTop: -GRIP / 2 }}
      >
        <circle r="14" fill="#fbf6ea" stroke="#3b342c" strokeOpacity="0.55" />
        <path
          d="M-4 -4.5 -8.5 0 -4 4.5M4 -4.5 8.5 0 4 4.5"
          fill="none"
          stroke="#3b342c"
          strokeWidth="1.8"
          strokeLinecap="round"
          strokeLinejoin="round"
        />
      </svg>
    </div>
  );
}
