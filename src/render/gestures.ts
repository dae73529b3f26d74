/** A place on the picture, CSS pixels from its left top corner. */
export interface CanvasPoint {
  readonly x: number;
  readonly y: number;
}

/** What a hand and keys do with a picture. Ways are in CSS pixels. */
export interface Held {
  /** Dragged so far. */
  turn(dx: number, dy: number): void;
  /** Dragged with another button or with Shift; where there is none, such a drag turns. */
  pan?(dx: number, dy: number): void;
  /** Two fingers: their middle went from one place to another and they went apart by a factor. */
  pinch(from: CanvasPoint, to: CanvasPoint, apart: number): void;
  /** Nearer by a factor, by the wheel over a place. */
  zoom(factor: number, at: CanvasPoint): void;
  /** An arrow key, one step to the right or down; `far` with Shift. */
  step(right: number, down: number, far: boolean): void;
  /** The key plus or minus. */
  zoomStep(nearer: boolean): void;
  home(): void;
  /** Whether the wheel is the picture's and not that of the page round it. */
  takesWheel(event: WheelEvent): boolean;
  /** Tapped or clicked; `again`: for the second time in a row. */
  tap?(at: CanvasPoint, again: boolean): void;
  /** A pointer that is not pressed is over this place, or has left. */
  point?(at: CanvasPoint | null): void;
  /** Whether a pointer is pressed and has moved. */
  hold?(held: boolean): void;
}

const TAP_PX = 6;
const TAP_MS = 400;
const DOUBLE_TAP_MS = 350;
const DOUBLE_TAP_PX = 24;
/** CSS pixels of the wheel's other units: lines, pages. */
const WHEEL_PX = [1, 16, 400];

/** Where arrow keys lead: to the right and down. */
export const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** Pointers, wheel and keys of an element. @returns a function that takes the listeners off again. */
export function attachGestures(element: HTMLElement, held: Held): () => void {
  const fingers = new Map<number, CanvasPoint>();
  let down = { x: 0, y: 0, time: 0, moved: false, pans: false };
  let lastTap = { x: 0, y: 0, time: Number.NEGATIVE_INFINITY };

  const place = (event: MouseEvent): CanvasPoint => {
    const box = element.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  const spread = (): CanvasPoint & { readonly size: number } => {
    const [a, b] = [...fingers.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, size: Math.max(1, Math.hypot(a.x - b.x, a.y - b.y)) };
  };

  const onUp = (event: PointerEvent): void => {
    if (!fingers.delete(event.pointerId)) return;
    if (fingers.size === 0 && down.moved) held.hold?.(false);
    if (down.moved || event.type === 'pointercancel' || event.timeStamp - down.time > TAP_MS) return;
    const at = place(event);
    const again =
      event.timeStamp - lastTap.time < DOUBLE_TAP_MS && Math.hypot(at.x - lastTap.x, at.y - lastTap.y) < DOUBLE_TAP_PX;
    lastTap = { ...at, time: again ? Number.NEGATIVE_INFINITY : event.timeStamp };
    held.tap?.(at, again);
  };

  const off = new AbortController();
  const on = <Name extends keyof HTMLElementEventMap>(
    name: Name,
    listener: (event: HTMLElementEventMap[Name]) => void,
  ): void => element.addEventListener(name, listener, { signal: off.signal, passive: false });
  on('pointerdown', (event) => {
    const at = place(event);
    element.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, at);
    if (fingers.size > 1) down.moved = true;
    else down = { ...at, time: event.timeStamp, moved: false, pans: event.button !== 0 || event.shiftKey };
  });
  on('pointermove', (event) => {
    const at = place(event);
    const before = fingers.get(event.pointerId);
    if (!before) {
      if (event.pointerType !== 'touch') held.point?.(at);
      return;
    }
    if (fingers.size === 2) {
      const from = spread();
      fingers.set(event.pointerId, at);
      const to = spread();
      held.pinch(from, to, to.size / from.size);
      return;
    }
    if (fingers.size > 2) return;
    if (!down.moved && Math.hypot(at.x - down.x, at.y - down.y) < TAP_PX) return;
    if (!down.moved) held.hold?.(true);
    down.moved = true;
    fingers.set(event.pointerId, at);
    const way = [at.x - before.x, at.y - before.y] as const;
    if (down.pans && held.pan) held.pan(...way);
    else held.turn(...way);
  });
  on('pointerup', onUp);
  on('pointercancel', onUp);
  on('pointerleave', (event) => {
    if (event.pointerType !== 'touch') held.point?.(null);
  });
  on('wheel', (event) => {
    if (!held.takesWheel(event)) return;
    event.preventDefault();
    const delta = Math.max(-240, Math.min(240, event.deltaY * WHEEL_PX[event.deltaMode]));
    // A pad's pinch comes as small turns of the wheel with Ctrl.
    held.zoom(Math.exp(-delta * (event.ctrlKey ? 0.008 : 0.0016)), place(event));
  });
  on('keydown', (event) => {
    if (event.target !== element || event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = ARROWS[event.key];
    if (arrow) held.step(...arrow, event.shiftKey);
    else if (event.key === '+' || event.key === '=') held.zoomStep(true);
    else if (event.key === '-' || event.key === '_') held.zoomStep(false);
    else if (event.key === '0') held.home();
    else return;
    event.preventDefault();
  });
  if (held.pan) on('contextmenu', (event) => event.preventDefault());
  return () => off.abort();
}
