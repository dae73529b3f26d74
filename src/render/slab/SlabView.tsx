import {
  type CSSProperties,
  type KeyboardEvent,
  type PointerEvent,
  useEffect,
  useEffectEvent,
  useLayoutEffect,
  useRef,
  useState,
} from 'react';
import { describeLamp, LAMP_HIGHEST_RAD, LAMP_LOWEST_RAD, type Lamp, settleLamp } from '../lamp.ts';
import { Ghost, PlaceFrame } from './PlaceFrame.tsx';
import { SlabScene, type SlabViewProps } from './SlabScene.tsx';
import { lampToStage, SightBus, type SightState, type Stage, stageToLamp, wipeToX, xToWipe } from './sight-bus.ts';

const frameStyle: CSSProperties = { position: 'relative', width: '100%', height: '100%', overflow: 'hidden' };

const stageStyle: CSSProperties = { position: 'absolute', inset: 0, touchAction: 'none', outlineOffset: -3 };

/**
 * The slab on the proofing table, with its lamp. Fills its parent. Props in, callbacks out: it keeps only the camera for itself.
 * It owns everything on the graphics card and lets go of it when it leaves the page.
 */
export function SlabView(props: SlabViewProps) {
  const [bus] = useState(() => new SightBus());
  const stage = useRef<HTMLDivElement>(null);
  const { lamp, lighting, wipe, surfaces } = props;
  const [fault, setFault] = useState<string | null>(null);
  // Thrown while rendering, so that whoever is round it hears of it.
  if (fault !== null) throw new Error(fault);
  return (
    <div className="slab-view" style={{ ...frameStyle, background: props.background }}>
      <div
        ref={stage}
        className="slab-view__stage"
        style={stageStyle}
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
        tabIndex={0}
        aria-roledescription="slab under the lamp"
        aria-label="The slab as it will look. Arrow keys turn the view, plus and minus zoom, 0 shows the whole slab."
      />
      <SlabScene {...props} bus={bus} stage={stage} onFault={setFault} />
      {props.standIn && <Ghost {...props.standIn} bus={bus} />}
      {props.placing && <PlaceFrame {...props.placing} bus={bus} stage={stage} />}
      {wipe !== null && surfaces.right && <WipeHandle wipe={wipe} onChange={props.onWipeChange} bus={bus} />}
      {lighting !== 'dome' && <LampHandle lamp={lamp} onChange={props.onLampChange} bus={bus} />}
    </div>
  );
}

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
function WipeHandle({ wipe, onChange, bus }: { wipe: number; onChange: (wipe: number) => void; bus: SightBus }) {
  const line = useRef<HTMLDivElement>(null);
  const grab = useRef<number | null>(null);

  const place = useEffectEvent((state: SightState) => {
    if (!line.current) return;
    line.current.style.transform = `translate(${wipeToX(wipe, state)}px, ${state.stage.top}px)`;
    line.current.style.height = `${state.stage.bottom - state.stage.top}px`;
  });
  useEffect(() => bus.subscribe((state) => place(state)), [bus]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the line follows the wipe as well as the camera
  useLayoutEffect(() => place(bus.current), [bus, wipe]);

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
        {/* The tab of a ruler that lies along the line. */}
        <rect x="-7" y="-19" width="14" height="38" rx="4" fill="#fbf6ea" stroke="#3b342c" strokeOpacity="0.55" />
        <path d="M-7 -11H-1M-7 -5.5H-3M-7 0H-1M-7 5.5H-3M-7 11H-1" stroke="#3b342c" strokeWidth="1.4" />
      </svg>
    </div>
  );
}

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
function LampHandle({ lamp, onChange, bus }: { lamp: Lamp; onChange: (lamp: Lamp) => void; bus: SightBus }) {
  const handle = useRef<HTMLDivElement>(null);
  const beam = useRef<HTMLDivElement>(null);
  const grab = useRef<{ dx: number; dy: number } | null>(null);

  const place = useEffectEvent((state: SightState) => {
    const stage = handleStage(state);
    const point = lampToStage(lamp, stage, state.sight);
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

  useEffect(() => bus.subscribe((state) => place(state)), [bus]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the handle follows the lamp as well as the camera
  useLayoutEffect(() => place(bus.current), [bus, lamp]);

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
