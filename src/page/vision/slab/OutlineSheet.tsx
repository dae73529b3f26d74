import { useEffect } from 'react';
import { findCrossing } from '../../../base/geometry/crossing.ts';
import type { Point, Polygon } from '../../../base/geometry/point.ts';
import { perimeterMm } from '../../../base/geometry/polygon.ts';
import { moveHandle } from '../../../vision/slab/move-handle.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import type { Draft } from './draft.ts';
import { Handle } from './Handle.tsx';
import { Sheet } from './Sheet.tsx';
import { readRimAnew } from './slab-photo-actions.ts';
import { editDraft } from './slab-photo-store.ts';

/** Rest after a move before the rim is read anew. */
const SETTLE_MS = 350;

/** The slab laid flat, with its outline, the masking line and what is suggested on it. */
export function OutlineSheet({ draft }: { draft: Draft }) {
  const { outline, handles, view, face, rim } = draft;
  useRimReading(draft);
  const reachMm = perimeterMm(outline) / handles.length;
  const crossing = findCrossing(outline);
  /** A handle stays on the sheet, or nobody could fetch it back. */
  const move = (index: number, [x, y]: Point, gesture: string) => {
    const dxMm = Math.min(view.right, Math.max(view.left, x)) - outline[index][0];
    const dyMm = Math.min(view.bottom, Math.max(view.top, y)) - outline[index][1];
    editDraft({ outline: moveHandle(outline, index, { dxMm, dyMm, reachMm }).outline }, gesture);
  };
  return (
    <Sheet
      label="The slab laid flat, with its outline"
      view={view}
      picture={
        face && {
          bitmap: face.bitmap,
          quarters: face.quarters,
          box: {
            left: face.leftMm,
            top: face.topMm,
            right: face.leftMm + face.widthMm,
            bottom: face.topMm + face.heightMm,
          },
        }
      }
    >
      <svg
        className="sp-lines"
        viewBox={`${view.left} ${view.top} ${view.right - view.left} ${view.bottom - view.top}`}
        aria-hidden="true"
      >
        {rim && draft.tapeRim && <polygon className="sp-mask" points={text(rim.paintable)} />}
        <polygon className="sp-line-under" points={text(outline)} />
        <polygon className="sp-line" points={text(outline)} />
        {draft.defects.map(({ defect, on }, i) => (
          <g
            // biome-ignore lint/suspicious/noArrayIndexKey: the list never changes its order
            key={i}
            className={on ? 'sp-defect' : 'sp-defect sp-defect-off'}
            transform={`translate(${defect.xMm} ${defect.yMm})`}
          >
            {defect.kind === 'knot' ? (
              <circle r={defect.diameterMm / 2} />
            ) : (
              <rect
                transform={`rotate(${(180 * defect.headingRad) / Math.PI})`}
                x={-defect.lengthMm / 2 - 1}
                y={-defect.widthMm / 2 - 1}
                width={defect.lengthMm + 2}
                height={defect.widthMm + 2}
                rx={1}
              />
            )}
          </g>
        ))}
        {crossing && <circle className="sp-crossing" cx={crossing.at[0]} cy={crossing.at[1]} r={reachMm / 8} />}
      </svg>
      {handles.map((index, i) => (
        <Handle
          key={index}
          label={`Outline, handle ${i + 1} of ${handles.length}`}
          at={outline[index]}
          view={view}
          place={`${outline[index].map((mm) => mm.toFixed(1)).join(' across, ')} mm down`}
          step={0.5}
          shiftStep={5}
          dot
          onMove={(to, gesture) => move(index, to, gesture)}
        />
      ))}
    </Sheet>
  );
}

/** Reads the rim anew once an outline that has been moved rests and does not cross itself. */
function useRimReading(draft: Draft): void {
  useEffect(() => {
    if (!draft.face || draft.rimOf === draft.outline || findCrossing(draft.outline)) return;
    const timer = setTimeout(() => inBackground(readRimAnew(draft)), SETTLE_MS);
    return () => clearTimeout(timer);
  }, [draft]);
}

const text = (line: Polygon): string => line.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(' ');
