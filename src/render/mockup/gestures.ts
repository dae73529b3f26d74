import type { MockupStage } from './stage.ts';

const KEY_RAD = 0.12;
/** Turn of a drag across the whole picture. */
const DRAG_RAD = 2.6;

/** Lets a hand or keys turn what a stage shows. Returns what undoes it. */
export function attachTurning(canvas: HTMLElement, stage: MockupStage): () => void {
  const fingers = new Map<number, { x: number; y: number }>();
  const apart = (): number => {
    const [one, other] = [...fingers.values()];
    return other ? Math.hypot(one.x - other.x, one.y - other.y) : 0;
  };
  const down = (event: PointerEvent): void => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  };
  const move = (event: PointerEvent): void => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const span = apart();
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    const scale = DRAG_RAD / Math.max(200, canvas.clientWidth);
    if (fingers.size === 1) stage.turnBy((event.clientX - before.x) * scale, (event.clientY - before.y) * scale);
    else if (span > 0) stage.turnBy(0, 0, apart() / span);
  };
  const up = (event: PointerEvent): void => void fingers.delete(event.pointerId);
  const wheel = (event: WheelEvent): void => {
    if (!event.ctrlKey && document.activeElement !== canvas) return;
    event.preventDefault();
    stage.turnBy(0, 0, Math.exp(-event.deltaY * 0.0015));
  };
  const key = (event: KeyboardEvent): void => {
    const ways = new Map<string, () => void>([
      ['ArrowLeft', () => stage.turnBy(-KEY_RAD, 0)],
      ['ArrowRight', () => stage.turnBy(KEY_RAD, 0)],
      ['ArrowUp', () => stage.turnBy(0, KEY_RAD)],
      ['ArrowDown', () => stage.turnBy(0, -KEY_RAD)],
      ['+', () => stage.turnBy(0, 0, 1.15)],
      ['=', () => stage.turnBy(0, 0, 1.15)],
      ['-', () => stage.turnBy(0, 0, 1 / 1.15)],
      ['0', () => stage.turnTo({ azimuthRad: 0, heightRad: 0, zoom: 1, turnRad: 0 })],
    ]);
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : ways.get(event.key);
    if (!act) return;
    event.preventDefault();
    act();
  };
  canvas.addEventListener('pointerdown', down);
  canvas.addEventListener('pointermove', move);
  canvas.addEventListener('pointerup', up);
  canvas.addEventListener('pointercancel', up);
  canvas.addEventListener('wheel', wheel, { passive: false });
  canvas.addEventListener('keydown', key);
  return () => {
    canvas.removeEventListener('pointerdown', down);
    canvas.removeEventListener('pointermove', move);
    canvas.removeEventListener('pointerup', up);
    canvas.removeEventListener('pointercancel', up);
    canvas.removeEventListener('wheel', wheel);
    canvas.removeEventListener('keydown', key);
  };
}
