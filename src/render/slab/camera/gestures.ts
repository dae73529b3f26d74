import { type Orbit, type OrbitLimits, panOrbit, pixelSizeMm, turnOrbit, zoomOrbit } from './orbit.ts';

/** What the gestures steer. */
export interface Steered {
  readonly heading: Orbit;
  readonly limits: OrbitLimits;
  readonly canvasHeight: number;
  steer(orbit: Orbit, how?: { glide?: boolean; flight?: boolean }): void;
  goHome(glide: boolean): void;
  /** Whether a pointer is pressed on the canvas and has moved. */
  hold(held: boolean): void;
  pick(xPx: number, yPx: number): { x: number; z: number } | null;
}

export interface GestureCallbacks {
  /** The pointer is over this point of the canvas (CSS pixels), or left it. */
  onPoint(point: { x: number; y: number } | null): void;
}

const TURN_PER_PX = 0.0052;
const TAP_PX = 6;
const TAP_MS = 400;
const DOUBLE_TAP_MS = 350;

export const prefersStill = (): boolean => window.matchMedia('(prefers-reduced-motion: reduce)').matches;

/**
 * Pointer, wheel and keyboard on the canvas: drag turns, right or middle or Shift-drag moves, two fingers zoom and move, the wheel
 * zooms to the pointer, a double tap flies closer (or home from close up); arrows turn, + and − zoom, 0 goes home.
 * @returns a function that takes the listeners off again.
 */
export function attachGestures(element: HTMLElement, view: Steered, callbacks: GestureCallbacks): () => void {
  const fingers = new Map<number, { x: number; y: number }>();
  let down = { x: 0, y: 0, time: 0, moved: false, panning: false };
  let lastTap = { x: 0, y: 0, time: -1e9 };

  const place = (event: MouseEvent): { x: number; y: number } => {
    const box = element.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  const zoomAt = (point: { x: number; y: number }, factor: number, how: { glide?: boolean; flight?: boolean } = {}) => {
    const hit = view.pick(point.x, point.y) ?? { x: view.heading.targetX, z: view.heading.targetZ };
    view.steer(zoomOrbit(view.heading, factor, hit.x, hit.z, view.limits), how);
  };
  const spread = (): { x: number; y: number; size: number } => {
    const [a, b] = [...fingers.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, size: Math.max(1, Math.hypot(a.x - b.x, a.y - b.y)) };
  };

  const onDown = (event: PointerEvent): void => {
    const point = place(event);
    element.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, point);
    if (fingers.size > 1) {
      down.moved = true;
      return;
    }
    down = { ...point, time: event.timeStamp, moved: false, panning: event.button !== 0 || event.shiftKey };
  };

  const onMove = (event: PointerEvent): void => {
    const point = place(event);
    const before = fingers.get(event.pointerId);
    if (!before) {
      if (event.pointerType !== 'touch') callbacks.onPoint(point);
      return;
    }
    if (fingers.size === 2) {
      const old = spread();
      fingers.set(event.pointerId, point);
      const now = spread();
      const moved = panOrbit(view.heading, now.x - old.x, now.y - old.y, pixelSizeMm(view.heading, view.canvasHeight));
      view.steer(moved, { glide: false });
      zoomAt(now, old.size / now.size, { glide: false });
      return;
    }
    if (fingers.size > 2) return;
    if (!down.moved && Math.hypot(point.x - down.x, point.y - down.y) < TAP_PX) return;
    if (!down.moved) view.hold(true);
    down.moved = true;
    fingers.set(event.pointerId, point);
    const dx = point.x - before.x;
    const dy = point.y - before.y;
    if (down.panning) view.steer(panOrbit(view.heading, dx, dy, pixelSizeMm(view.heading, view.canvasHeight)));
    else view.steer(turnOrbit(view.heading, -dx * TURN_PER_PX, -dy * TURN_PER_PX));
  };

  const onUp = (event: PointerEvent): void => {
    if (!fingers.delete(event.pointerId)) return;
    if (fingers.size === 0 && down.moved) view.hold(false);
    if (down.moved || event.type === 'pointercancel' || event.timeStamp - down.time > TAP_MS) return;
    const point = place(event);
    const again =
      event.timeStamp - lastTap.time < DOUBLE_TAP_MS && Math.hypot(point.x - lastTap.x, point.y - lastTap.y) < 24;
    lastTap = { ...point, time: again ? -1e9 : event.timeStamp };
    callbacks.onPoint(point);
    if (!again) return;
    if (view.heading.distanceMm < view.limits.farthestMm / 12) view.goHome(!prefersStill());
    else zoomAt(point, 0.3, { glide: !prefersStill(), flight: true });
  };

  const onLeave = (event: PointerEvent): void => {
    if (event.pointerType !== 'touch') callbacks.onPoint(null);
  };

  const onWheel = (event: WheelEvent): void => {
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : event.deltaMode === 2 ? 400 : 1;
    const delta = Math.max(-240, Math.min(240, event.deltaY * lines));
    zoomAt(place(event), Math.exp(delta * (event.ctrlKey ? 0.008 : 0.0016)));
  };

  const onKey = (event: KeyboardEvent): void => {
    if (event.target !== element || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? 0.3 : 0.08;
    const turns: Record<string, [number, number]> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, -step],
      ArrowDown: [0, step],
    };
    const turn = turns[event.key];
    const glide = !prefersStill();
    const centre = { x: view.heading.targetX, z: view.heading.targetZ };
    if (turn) view.steer(turnOrbit(view.heading, turn[0], turn[1]), { glide });
    else if (event.key === '+' || event.key === '=')
      view.steer(zoomOrbit(view.heading, 0.8, centre.x, centre.z, view.limits), { glide });
    else if (event.key === '-' || event.key === '_')
      view.steer(zoomOrbit(view.heading, 1.25, centre.x, centre.z, view.limits), { glide });
    else if (event.key === '0') view.goHome(glide);
    else return;
    event.preventDefault();
  };

  const onMenu = (event: Event): void => event.preventDefault();

  element.addEventListener('pointerdown', onDown);
  element.addEventListener('pointermove', onMove);
  element.addEventListener('pointerup', onUp);
  element.addEventListener('pointercancel', onUp);
  element.addEventListener('pointerleave', onLeave);
  element.addEventListener('wheel', onWheel, { passive: false });
  element.addEventListener('keydown', onKey);
  element.addEventListener('contextmenu', onMenu);
  return () => {
    element.removeEventListener('pointerdown', onDown);
    element.removeEventListener('pointermove', onMove);
    element.removeEventListener('pointerup', onUp);
    element.removeEventListener('pointercancel', onUp);
    element.removeEventListener('pointerleave', onLeave);
    element.removeEventListener('wheel', onWheel);
    element.removeEventListener('keydown', onKey);
    element.removeEventListener('contextmenu', onMenu);
  };
}
