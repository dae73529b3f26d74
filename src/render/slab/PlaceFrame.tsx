import {
  type CSSProperties,
  type KeyboardEvent,
  type PointerEvent,
  type RefObject,
  useEffect,
  useEffectEvent,
  useLayoutEffect,
  useRef,
  useState,
  type WheelEvent,
} from 'react';
import {
  boxCorners,
  boxEdge,
  fromBox,
  movedBox,
  type PlacedBox,
  pulledBox,
  scaledBox,
  turnedBox,
} from '../../physics/bed/placed-box.ts';
import { ARROWS, type CanvasPoint } from '../gestures.ts';
import type { Placing, SightBus, SightState } from './sight-bus.ts';

/** How near, in pixels and as an angle, the picture comes to rest on the middle and on straight. */
const SNAP_PX = 7;

const SNAP_RAD = (2.5 * Math.PI) / 180;

/** The handle that turns stands off the upper edge by this, CSS pixels. */
const ARC_OFF_PX = 34;

const CORNERS = [0, 1, 2, 3] as const;

const LIGHT = '#fbf6ea';

const DARK = 'rgb(35 30 25 / 0.7)';

const layer: CSSProperties = { position: 'absolute', inset: 0, pointerEvents: 'none', outline: 'none' };

const grabbed: CSSProperties = { pointerEvents: 'all', touchAction: 'none', fill: 'transparent' };

const text = (points: readonly (CanvasPoint | null)[]): string =>
  points.map((point) => (point ? `${point.x.toFixed(1)},${point.y.toFixed(1)}` : '')).join(' ');

interface PlaceFrameProps extends Placing {
  bus: SightBus;
  /** What lies below: the wheel goes on turning over the picture. */
  stage: RefObject<HTMLElement | null>;
}

/** A dashed frame round the picture: dragged, pulled by its corners, turned by its handle, or moved with keys. */
export function PlaceFrame({ bus, stage, ...placing }: PlaceFrameProps) {
  const root = useRef<HTMLDivElement>(null);
  const svg = useRef<SVGSVGElement>(null);
  const grip = useRef<(Grip & { pointer: number }) | null>(null);
  const [focused, setFocused] = useState(false);
  const draw = (state: SightState): void => {
    if (svg.current) drawFrame(svg.current, state, placing, grip.current !== null);
  };
  const drawNow = useEffectEvent(draw);
  const letGo = useEffectEvent(() => grip.current && placing.onRelease());

  useEffect(() => bus.subscribe((state) => drawNow(state)), [bus]);
  useLayoutEffect(() => drawNow(bus.current));
  useEffect(() => {
    root.current?.focus();
    // Taken away in the middle of a drag, it is let go.
    return () => {
      letGo();
    };
  }, []);

  const placeOf = (event: PointerEvent): readonly [number, number] | null => {
    const frame = root.current?.getBoundingClientRect();
    return frame ? bus.current.toFace(event.clientX - frame.left, event.clientY - frame.top) : null;
  };
  const release = (event: PointerEvent): void => {
    if (grip.current?.pointer !== event.pointerId) return;
    grip.current = null;
    draw(bus.current);
    placing.onRelease();
  };
  const hold = (part: Part) => ({
    onPointerDown: (event: PointerEvent<SVGElement>): void => {
      const from = placeOf(event);
      if (!from || grip.current || event.button !== 0) return;
      event.currentTarget.setPointerCapture(event.pointerId);
      grip.current = { part, box: placing.box, from, pointer: event.pointerId };
      root.current?.focus();
      placing.onGrab();
    },
    onPointerMove: (event: PointerEvent<SVGElement>): void => {
      const to = placeOf(event);
      if (!to || grip.current?.pointer !== event.pointerId) return;
      placing.onChange(draggedBox(grip.current, to, event.altKey ? NO_SNAPPING : snapping(bus.current, placing.box)));
    },
    onPointerUp: release,
    onPointerCancel: release,
  });
  const onKeyDown = (event: KeyboardEvent): void => {
    // The key that writes brackets on many keyboards counts as Ctrl and Alt.
    const bracket = event.getModifierState('AltGraph');
    if (!bracket && (event.ctrlKey || event.metaKey || event.altKey)) return;
    if (event.key === 'Escape') placing.onDone();
    else {
      const next = boxByKey(placing.box, event);
      if (!next) return;
      placing.onChange(next);
    }
    event.preventDefault();
    event.stopPropagation();
  };
  const onWheel = (event: WheelEvent): void => {
    stage.current?.dispatchEvent(new globalThis.WheelEvent('wheel', event.nativeEvent));
  };

  const line = { fill: 'none', strokeLinejoin: 'round' } as const;
  return (
    <div
      ref={root}
      className="slab-view__place"
      style={layer}
      role="application"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
      tabIndex={0}
      aria-roledescription="picture on the slab"
      aria-label={`${placing.words} Arrow keys move it, with Shift by 10 mm; plus and minus scale it; brackets turn it; 0 brings it to the middle; Escape ends placing.`}
      onKeyDown={onKeyDown}
      onFocus={(event) => setFocused(event.currentTarget.matches(':focus-visible'))}
      onBlur={() => setFocused(false)}
    >
      {placing.ghost && <Ghost image={placing.ghost} box={placing.box} crop={placing.crop} bus={bus} />}
      <svg
        ref={svg}
        width="100%"
        height="100%"
        aria-hidden="true"
        onWheel={onWheel}
        style={{ position: 'absolute', inset: 0, overflow: 'hidden' }}
      >
        <defs>
          <pattern id="slab-view-flaw" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <path d="M0 0V7" stroke={LIGHT} strokeOpacity="0.75" strokeWidth="2" />
          </pattern>
        </defs>
        <g data-part="flaws">
          {placing.flaws.map((_, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: flaws have no identity but their place
            <g key={i}>
              <polygon {...line} stroke={DARK} strokeWidth="4" />
              <polygon fill="url(#slab-view-flaw)" stroke={LIGHT} strokeWidth="1.6" />
            </g>
          ))}
        </g>
        <path data-part="guides" {...line} stroke={LIGHT} strokeOpacity="0.9" strokeWidth="1" />
        <polygon data-part="whole" style={{ ...grabbed, cursor: 'move' }} {...hold('whole')} />
        <polygon data-part="edge-under" {...line} stroke={DARK} strokeWidth={focused ? 6 : 3.5} />
        <polygon
          data-part="edge"
          {...line}
          stroke={focused ? '#8fd0ee' : LIGHT}
          strokeWidth={focused ? 3 : 1.8}
          strokeDasharray="7 5"
        />
        <polygon data-part="box" {...line} stroke={LIGHT} strokeOpacity="0.55" strokeWidth="1" />
        <path data-part="arc" {...line} stroke={LIGHT} strokeWidth="1.6" strokeDasharray="2 4" />
        {CORNERS.map((corner) => (
          <g key={corner} data-part={`corner-${corner}`}>
            <circle r="6.5" fill={LIGHT} stroke={DARK} strokeWidth="1.5" />
            <circle
              r="16"
              style={{ ...grabbed, cursor: corner % 2 === 0 ? 'nwse-resize' : 'nesw-resize' }}
              {...hold(corner)}
            />
          </g>
        ))}
        <g data-part="turn">
          <circle r="8" fill={LIGHT} stroke={DARK} strokeWidth="1.5" />
          <circle r="18" style={{ ...grabbed, cursor: 'grab' }} {...hold('turn')} />
        </g>
      </svg>
    </div>
  );
}

/** Pixels of the canvas to a millimetre where the box lies. */
function pixelsPerMm({ toCanvas }: SightState, { centreXMm, centreYMm }: PlacedBox): number {
  const [a, b] = [toCanvas(centreXMm, centreYMm), toCanvas(centreXMm + 1, centreYMm)];
  return a && b ? Math.max(0.01, Math.hypot(b.x - a.x, b.y - a.y)) : 1;
}

const snapping = (state: SightState, box: PlacedBox): Snapping => ({
  mm: SNAP_PX / pixelsPerMm(state, box),
  rad: SNAP_RAD,
});

/** Brings all parts to where the box is seen now; hides the frame where a corner lies behind the camera. */
function drawFrame(svg: SVGSVGElement, state: SightState, { box, crop, flaws }: Placing, held: boolean): void {
  const seen = (points: readonly (readonly [number, number])[]) => points.map(([x, y]) => state.toCanvas(x, y));
  const corners = seen(boxCorners(box));
  const shown = corners.every((corner) => corner !== null);
  svg.style.visibility = shown ? 'visible' : 'hidden';
  if (!shown) return;
  const part = (name: string) => svg.querySelector(`[data-part="${name}"]`);
  const edge = text(seen(boxEdge(box, crop)));
  part('whole')?.setAttribute('points', text(corners));
  part('edge')?.setAttribute('points', edge);
  part('edge-under')?.setAttribute('points', edge);
  part('box')?.setAttribute('points', crop === 'oval' ? text(corners) : '');
  for (const corner of CORNERS) moveTo(part(`corner-${corner}`), corners[corner]);
  const [middle, top] = seen([[box.centreXMm, box.centreYMm], fromBox(box, [0, -box.heightMm / 2])]);
  if (middle && top) {
    const length = Math.max(1, Math.hypot(top.x - middle.x, top.y - middle.y));
    const turn = {
      x: top.x + ((top.x - middle.x) / length) * ARC_OFF_PX,
      y: top.y + ((top.y - middle.y) / length) * ARC_OFF_PX,
    };
    moveTo(part('turn'), turn);
    part('arc')?.setAttribute('d', arcThrough(turn, middle));
  }
  part('guides')?.setAttribute('d', held ? guides(state, box) : '');
  const drawn = part('flaws')?.children ?? [];
  flaws.forEach((flaw, i) => {
    const points = text(seen(flaw));
    for (const polygon of drawn[i]?.children ?? []) polygon.setAttribute('points', points);
  });
}

/** How far the arc that the picture is turned along reaches to either side of its handle. */
const ARC_RAD = 0.32;

/** An arc about the picture's middle, as far as its handle is, on which that lies. */
function arcThrough(at: CanvasPoint, middle: CanvasPoint): string {
  const radius = Math.hypot(at.x - middle.x, at.y - middle.y);
  const angle = Math.atan2(at.y - middle.y, at.x - middle.x);
  const end = (turn: number) =>
    `${(middle.x + radius * Math.cos(angle + turn)).toFixed(1)} ${(middle.y + radius * Math.sin(angle + turn)).toFixed(1)}`;
  return `M${end(-ARC_RAD)}A${radius.toFixed(1)} ${radius.toFixed(1)} 0 0 1 ${end(ARC_RAD)}`;
}

function moveTo(part: Element | null, place: CanvasPoint | null): void {
  if (part && place) part.setAttribute('transform', `translate(${place.x} ${place.y})`);
}

/** Lines through the slab's middle, each way for itself, where the picture rests on it. */
function guides({ toCanvas }: SightState, { centreXMm, centreYMm, widthMm, heightMm }: PlacedBox): string {
  const reach = 0.6 * Math.max(widthMm, heightMm);
  const lines: string[] = [];
  const add = (from: CanvasPoint | null, to: CanvasPoint | null) =>
    from && to && lines.push(`M${from.x} ${from.y}L${to.x} ${to.y}`);
  if (centreXMm === 0) add(toCanvas(0, -reach), toCanvas(0, reach));
  if (centreYMm === 0) add(toCanvas(-reach, 0), toCanvas(reach, 0));
  return lines.join('');
}

type GripPlace = readonly [number, number];

/** What of the frame is held: its middle, a corner (0 top left, clockwise on), or the handle that turns it. */
type Part = 'whole' | 'turn' | 0 | 1 | 2 | 3;

/** A hold on the frame: the box and the place on the slab, mm, where the drag began. */
interface Grip {
  readonly part: Part;
  readonly box: PlacedBox;
  readonly from: GripPlace;
}

interface Snapping {
  /** How near to the middle it comes to rest there, and to straight. */
  readonly mm: number;
  readonly rad: number;
}

export const NO_SNAPPING: Snapping = { mm: 0, rad: 0 };

/** The box once what is held has been dragged to a place. */
export function draggedBox({ part, box, from }: Grip, to: GripPlace, snap: Snapping): PlacedBox {
  if (part === 'whole') return movedBox(box, [to[0] - from[0], to[1] - from[1]], snap.mm);
  if (part === 'turn') {
    // y grows downwards, turns run counter-clockwise.
    const angle = ([x, y]: GripPlace) => -Math.atan2(y - box.centreYMm, x - box.centreXMm);
    return turnedBox(box, box.turnRad + angle(to) - angle(from), snap.rad);
  }
  return pulledBox(box, part, to);
}

const DEG = Math.PI / 180;

const TURNS: Readonly<Record<string, number>> = { '[': 1, '{': 15, ']': -1, '}': -15 };

const SCALES: Readonly<Record<string, number>> = { '+': 1.01, '=': 1.01, '-': 1 / 1.01, _: 1 / 1.01 };

/**
 * Where a key takes the box: arrows move by 1 mm (with Shift 10 mm), + and − scale by 1 %, [ and ] turn by 1° (with Shift 15°), 0 brings
 * it to the slab's middle. Null for a key that means nothing here.
 */
export function boxByKey(box: PlacedBox, { key, shiftKey }: { key: string; shiftKey: boolean }): PlacedBox | null {
  const arrow = ARROWS[key];
  if (arrow) return movedBox(box, [arrow[0] * (shiftKey ? 10 : 1), arrow[1] * (shiftKey ? 10 : 1)]);
  if (key in TURNS) return turnedBox(box, box.turnRad + TURNS[key] * DEG, DEG / 4);
  if (key in SCALES) return scaledBox(box, SCALES[key]);
  return key === '0' ? { ...box, centreXMm: 0, centreYMm: 0 } : null;
}

interface GhostProps {
  image: ImageBitmap;
  box: PlacedBox;
  crop: 'rectangle' | 'oval';
  bus: SightBus;
}

const style: CSSProperties = {
  position: 'absolute',
  left: 0,
  top: 0,
  transformOrigin: '0 0',
  // As the slab will have it: without colours, and so thin that what lies below is seen.
  filter: 'grayscale(1)',
  opacity: 0.62,
};

/** The photograph, half transparent, as it lies on the slab. */
export function Ghost({ image, box, crop, bus }: GhostProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const place = useEffectEvent((state: SightState) => {
    if (canvas.current) canvas.current.style.transform = transformOf(canvas.current, state, box);
  });
  useEffect(() => {
    if (!canvas.current) return;
    canvas.current.width = image.width;
    canvas.current.height = image.height;
    canvas.current.getContext('2d')?.drawImage(image, 0, 0);
    place(bus.current);
  }, [image, bus]);
  useEffect(() => bus.subscribe((state) => place(state)), [bus]);
  useLayoutEffect(() => place(bus.current));
  return <canvas ref={canvas} style={{ ...style, clipPath: crop === 'oval' ? 'ellipse(50% 50%)' : undefined }} />;
}

/** What brings the canvas's corners to where the box's are seen; nothing is shown where one lies behind the camera. */
function transformOf({ width, height }: HTMLCanvasElement, { toCanvas }: SightState, box: PlacedBox): string {
  const seen = boxCorners(box).map(([x, y]) => toCanvas(x, y));
  if (!seen.every((corner) => corner !== null)) return 'scale(0)';
  return `${squareTo(seen)} scale(${1 / width}, ${1 / height})`;
}

/**
 * The projective map of the unit square to four corners (left top, right top, right bottom, left bottom) as CSS writes it.
 * P. S. Heckbert, "Fundamentals of texture mapping and image warping", 1989, section 2.2.3.
 */
function squareTo([a, b, c, d]: readonly { readonly x: number; readonly y: number }[]): string {
  const [dx1, dx2, sx] = [b.x - c.x, d.x - c.x, a.x - b.x + c.x - d.x];
  const [dy1, dy2, sy] = [b.y - c.y, d.y - c.y, a.y - b.y + c.y - d.y];
  const area = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / area;
  const h = (dx1 * sy - sx * dy1) / area;
  const columns = [
    [b.x - a.x + g * b.x, b.y - a.y + g * b.y, 0, g],
    [d.x - a.x + h * d.x, d.y - a.y + h * d.y, 0, h],
    [0, 0, 1, 0],
    [a.x, a.y, 0, 1],
  ];
  return `matrix3d(${columns.flat().join()})`;
}
