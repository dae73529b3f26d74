import { type CSSProperties, type KeyboardEvent, type PointerEvent, useEffect, useLayoutEffect, useRef } from 'react';
import { describeLamp, LAMP_HIGHEST_RAD, LAMP_LOWEST_RAD, type Lamp, settleLamp } from '../sight/lamp.ts';
import type { SightBus, SightState } from '../sight/sight-bus.ts';
import { lampToStage, type Stage, stageToLamp } from '../sight/stage-mapping.ts';

const DEG = Math.PI / 180;
const SIZE = 44;
const MARGIN = SIZE / 2 + 6;

/** The free part of the canvas, so far in that the handle stays wholly visible. */
const handleStage = ({ stage }: SightState): Stage => ({
  left: stage.left + MARGIN,
  right: Math.max(stage.left + MARGIN + 2, stage.right - MARGIN),
  top: stage.top + MARGIN,
  bottom: Math.max(stage.top + MARGIN + 2, stage.bottom - MARGIN),
});

const handleStyle: CSSProperties = {
  position: 'absolute',
  left: -SIZE / 2,
  top: -SIZE / 2,
  width: SIZE,
  height: SIZE,
  padding: 0,
  border: 0,
  borderRadius: '50%',
  background: 'none',
  cursor: 'grab',
  touchAction: 'none',
  willChange: 'transform',
};

const beamStyle: CSSProperties = {
  position: 'absolute',
  left: 0,
  top: -1,
  height: 2,
  borderRadius: 1,
  transformOrigin: '0 50%',
  pointerEvents: 'none',
  background: 'linear-gradient(90deg, rgb(255 226 170 / 0.75), rgb(255 226 170 / 0.16) 55%, rgb(255 226 170 / 0))',
};

/** The lamp over the slab: a thing to drag, or to move with the arrow keys. */
export function LampHandle({ lamp, onChange, bus }: { lamp: Lamp; onChange: (lamp: Lamp) => void; bus: SightBus }) {
  const handle = useRef<HTMLDivElement>(null);
  const beam = useRef<HTMLDivElement>(null);
  const grab = useRef<{ dx: number; dy: number } | null>(null);
  const current = useRef(lamp);
  current.current = lamp;

  const place = useRef((state: SightState) => {
    const stage = handleStage(state);
    const point = lampToStage(current.current, stage, state.sight);
    const dx = (stage.left + stage.right) / 2 - point.x;
    const dy = (stage.top + stage.bottom) / 2 - point.y;
    const length = Math.hypot(dx, dy);
    if (handle.current) handle.current.style.transform = `translate(${point.x}px, ${point.y}px)`;
    if (!beam.current) return;
    const angle = Math.atan2(dy, dx);
    beam.current.style.width = `${Math.max(0, length - SIZE * 0.4)}px`;
    const from = SIZE * 0.34;
    const x = point.x + Math.cos(angle) * from;
    const y = point.y + Math.sin(angle) * from;
    beam.current.style.transform = `translate(${x}px, ${y}px) rotate(${angle}rad)`;
  });

  useEffect(() => bus.subscribe(place.current), [bus]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the handle follows the lamp as well as the camera
  useLayoutEffect(() => place.current(bus.current), [bus, lamp]);

  const onPointerDown = (event: PointerEvent<HTMLDivElement>): void => {
    event.currentTarget.setPointerCapture(event.pointerId);
    const box = event.currentTarget.getBoundingClientRect();
    grab.current = { dx: event.clientX - box.left - box.width / 2, dy: event.clientY - box.top - box.height / 2 };
  };
  const onPointerMove = (event: PointerEvent<HTMLDivElement>): void => {
    const frame = event.currentTarget.parentElement?.getBoundingClientRect();
    if (!grab.current || !frame) return;
    const point = { x: event.clientX - grab.current.dx - frame.left, y: event.clientY - grab.current.dy - frame.top };
    onChange(stageToLamp(point, handleStage(bus.current), bus.current.sight));
  };
  const release = (): void => {
    grab.current = null;
  };
  const onKeyDown = (event: KeyboardEvent<HTMLDivElement>): void => {
    const turn = (event.shiftKey ? 22.5 : 5) * DEG;
    const rise = (event.shiftKey ? 10 : 2) * DEG;
    const { azimuthRad, elevationRad } = lamp;
    const moves: Record<string, Lamp> = {
      ArrowLeft: { azimuthRad: azimuthRad - turn, elevationRad },
      ArrowRight: { azimuthRad: azimuthRad + turn, elevationRad },
      ArrowUp: { azimuthRad, elevationRad: elevationRad + rise },
      ArrowDown: { azimuthRad, elevationRad: elevationRad - rise },
      PageUp: { azimuthRad, elevationRad: elevationRad + 10 * DEG },
      PageDown: { azimuthRad, elevationRad: elevationRad - 10 * DEG },
      Home: { azimuthRad, elevationRad: LAMP_LOWEST_RAD },
      End: { azimuthRad, elevationRad: LAMP_HIGHEST_RAD },
    };
    const next = moves[event.key];
    if (!next) return;
    event.preventDefault();
    onChange(settleLamp(next));
  };

  return (
    <>
      <div ref={beam} className="slab-view__beam" style={beamStyle} />
      <div
        ref={handle}
        className="slab-view__lamp"
        style={handleStyle}
        role="slider"
        tabIndex={0}
        aria-label="Lamp"
        aria-valuemin={Math.round(LAMP_LOWEST_RAD / DEG)}
        aria-valuemax={Math.round(LAMP_HIGHEST_RAD / DEG)}
        aria-valuenow={Math.round(settleLamp(lamp).elevationRad / DEG)}
        aria-valuetext={describeLamp(lamp)}
        onPointerDown={onPointerDown}
        onPointerMove={onPointerMove}
        onPointerUp={release}
        onPointerCancel={release}
        onKeyDown={onKeyDown}
      >
        <svg viewBox="-22 -22 44 44" width={SIZE} height={SIZE} aria-hidden="true" style={{ display: 'block' }}>
          <defs>
            <radialGradient id="slab-view-glow">
              <stop offset="0" stopColor="#fff3d2" stopOpacity="0.85" />
              <stop offset="0.45" stopColor="#ffdf9e" stopOpacity="0.4" />
              <stop offset="1" stopColor="#ffdf9e" stopOpacity="0" />
            </radialGradient>
          </defs>
          <circle r="22" fill="url(#slab-view-glow)" />
          <circle r="13" fill="#3b342c" stroke="#fbf6ea" strokeWidth="1.5" />
          <circle r="8.5" fill="#f4cf86" />
          <circle r="6" fill="#ffe9bd" />
          <circle r="3" fill="#fffaf0" />
        </svg>
      </div>
    </>
  );
}
