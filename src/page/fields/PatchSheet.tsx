import { type PointerEvent, useCallback, useRef } from 'react';
import { boxByKey, heldBox, type PatchBox } from './patch-box.ts';

export type PatchPart = 'patch' | 'reference';

const PARTS: readonly { readonly id: PatchPart; readonly label: string; readonly says: string }[] = [
  { id: 'patch', label: 'Rectangle over the painted patch', says: 'Paint' },
  { id: 'reference', label: 'Rectangle over the white or grey reference', says: 'Reference' },
];
/** Pixels that a pointer must travel before it draws: a tap draws nothing. */
const LEAST_DRAG = 4;

interface PatchSheetProps {
  photo: HTMLCanvasElement;
  boxes: Readonly<Record<PatchPart, PatchBox>>;
  active: PatchPart;
  hintId: string;
  onActivate: (part: PatchPart) => void;
  onChange: (part: PatchPart, box: PatchBox) => void;
}

/** The photograph with its two rectangles: dragged on bare picture the active one is drawn anew, dragged itself one moves. */
export function PatchSheet({ photo, boxes, active, hintId, onActivate, onChange }: PatchSheetProps) {
  const sheet = useRef<HTMLDivElement>(null);
  const drag = useRef<{ x: number; y: number; part: PatchPart; moves: PatchBox | null } | null>(null);

  const hold = useCallback((host: HTMLDivElement | null) => host?.replaceChildren(photo), [photo]);
  const shares = (event: PointerEvent): readonly [number, number, DOMRect] => {
    const bounds = (sheet.current as HTMLDivElement).getBoundingClientRect();
    return [(event.clientX - bounds.left) / bounds.width, (event.clientY - bounds.top) / bounds.height, bounds];
  };
  const begin = (event: PointerEvent, part: PatchPart, moves: PatchBox | null) => {
    event.stopPropagation();
    const [x, y] = shares(event);
    drag.current = { x, y, part, moves };
    event.currentTarget.setPointerCapture(event.pointerId);
  };
  const go = (event: PointerEvent) => {
    const from = drag.current;
    if (!from) return;
    event.stopPropagation();
    const [x, y, bounds] = shares(event);
    const [dx, dy] = [x - from.x, y - from.y];
    if (from.moves) {
      onChange(from.part, heldBox({ ...from.moves, x: from.moves.x + dx, y: from.moves.y + dy }));
    } else if (Math.abs(dx) * bounds.width >= LEAST_DRAG && Math.abs(dy) * bounds.height >= LEAST_DRAG) {
      const [left, top] = [Math.max(0, Math.min(x, from.x)), Math.max(0, Math.min(y, from.y))];
      const [right, bottom] = [Math.min(1, Math.max(x, from.x)), Math.min(1, Math.max(y, from.y))];
      onChange(from.part, heldBox({ x: left, y: top, width: right - left, height: bottom - top }));
    }
  };
  const end = () => {
    drag.current = null;
  };

  return (
    <div
      ref={sheet}
      className="patch-sheet"
      onPointerDown={(event) => begin(event, active, null)}
      onPointerMove={go}
      onPointerUp={end}
      onPointerCancel={end}
    >
      <div className="patch-sheet-photo" ref={hold} />
      {PARTS.map(({ id, label, says }) => {
        const { x, y, width, height } = boxes[id];
        const [left, top, wide, high] = [x, y, width, height].map((share) => Math.round(100 * share));
        return (
          <div
            key={id}
            role="slider"
            tabIndex={0}
            className={`patch-sheet-box${id === active ? ' patch-sheet-box-active' : ''}`}
            style={{ left: `${100 * x}%`, top: `${100 * y}%`, width: `${100 * width}%`, height: `${100 * height}%` }}
            aria-label={label}
            aria-describedby={hintId}
            aria-valuemin={0}
            aria-valuemax={100}
            aria-valuenow={left}
            aria-valuetext={`${left} % from the left, ${top} % from the top, ${wide} % wide, ${high} % high`}
            onFocus={() => onActivate(id)}
            onKeyDown={(event) => {
              if (event.ctrlKey || event.metaKey || event.altKey) return;
              const next = boxByKey(boxes[id], event.key, event.shiftKey);
              if (!next) return;
              event.preventDefault();
              onChange(id, next);
            }}
            onPointerDown={(event) => begin(event, id, boxes[id])}
          >
            <span aria-hidden="true">{says}</span>
          </div>
        );
      })}
    </div>
  );
}
