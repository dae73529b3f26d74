import { type PointerEvent, useRef } from 'react';
import { setSession, useSessionStore } from '../store/piece-store.ts';

/** Heights at which the sheet comes to rest, shares of the page's: out of the way, beside the slab, over it. */
const RESTS = [0.16, 0.42, 0.88] as const;

/** A press of less than this many pixels is no drag. */
const STILL_PX = 6;

/** What the column's sheet is dragged up and down by where the page is narrow; pressed, it goes on to the next height. */
export function SheetGrip() {
  const sheet = useSessionStore((state) => state.sheet);
  const grip = useRef<{ y: number; from: number; moved: boolean } | null>(null);
  const onPointerDown = (event: PointerEvent) => {
    event.currentTarget.setPointerCapture(event.pointerId);
    grip.current = { y: event.clientY, from: sheet, moved: false };
  };
  const onPointerMove = (event: PointerEvent) => {
    const held = grip.current;
    if (!held) return;
    const up = held.y - event.clientY;
    held.moved ||= Math.abs(up) > STILL_PX;
    const height = held.from + up / window.innerHeight;
    if (held.moved) setSession({ sheet: Math.min(RESTS[2], Math.max(RESTS[0], height)) });
  };
  const release = () => {
    const held = grip.current;
    grip.current = null;
    if (held?.moved) setSession({ sheet: nearest(useSessionStore.getState().sheet) });
  };
  const goOn = () => setSession({ sheet: RESTS.find((rest) => rest > sheet + 0.01) ?? RESTS[0] });
  return (
    <button
      type="button"
      className="sheet-grip"
      aria-label="Height of the sheet"
      onPointerDown={onPointerDown}
      onPointerMove={onPointerMove}
      onPointerUp={(event) => {
        const pressed = grip.current?.moved === false;
        release();
        if (pressed && event.button === 0) goOn();
      }}
      onPointerCancel={release}
      onKeyDown={(event) => {
        if (event.key === 'Enter' || event.key === ' ') goOn();
        if (event.key === 'ArrowUp') setSession({ sheet: RESTS.find((rest) => rest > sheet + 0.01) ?? RESTS[2] });
        if (event.key === 'ArrowDown') setSession({ sheet: RESTS.findLast((rest) => rest < sheet - 0.01) ?? RESTS[0] });
      }}
    />
  );
}

const nearest = (height: number): number =>
  RESTS.reduce((best, rest) => (Math.abs(rest - height) < Math.abs(best - height) ? rest : best));
