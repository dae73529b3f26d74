import type { Point } from '../../../base/geometry/point.ts';
import { Handle } from './Handle.tsx';
import { Sheet } from './Sheet.tsx';
import { MARK_NAMES } from './slab-marks.ts';
import { editMarks, type SlabPhoto, setSlabPhoto, useSlabPhoto } from './slab-photo-store.ts';

/** The photograph with the marks that give the scale. */
export function MarkSheet({ photo }: { photo: SlabPhoto }) {
  const { kind, points } = useSlabPhoto((state) => state.work.marks);
  const active = useSlabPhoto((state) => state.active);
  const view = { left: 0, top: 0, right: photo.width, bottom: photo.height };
  const marks = points[kind];
  const move = (index: number, [x, y]: Point, gesture: string | null) => {
    const held: Point = [Math.min(view.right, Math.max(0, x)), Math.min(view.bottom, Math.max(0, y))];
    editMarks({ points: { ...points, [kind]: marks.map((mark, i) => (i === index ? held : mark)) } }, gesture);
    if (index !== active) setSlabPhoto({ active: index });
  };
  const bringNearest = (at: Point) => {
    const far = marks.map(([x, y]) => Math.hypot(x - at[0], y - at[1]));
    move(far.indexOf(Math.min(...far)), at, null);
  };
  const line = marks.map(([x, y]) => `${x},${y}`).join(' ');
  return (
    <Sheet
      label="Photograph with marks"
      view={view}
      picture={{ quarters: 0, bitmap: photo.bitmap, box: view }}
      onPress={bringNearest}
    >
      <svg className="sp-lines" viewBox={`0 0 ${photo.width} ${photo.height}`} aria-hidden="true">
        {['sp-line-under', 'sp-line'].map((name) => (
          <polygon key={name} className={name} points={line} />
        ))}
      </svg>
      {marks.map((at, i) => (
        <Handle
          key={MARK_NAMES[kind][i]}
          label={MARK_NAMES[kind][i]}
          at={at}
          view={view}
          place={`${at[0].toFixed(1)} across, ${at[1].toFixed(1)} down`}
          step={0.5}
          shiftStep={10}
          active={i === active}
          onFocus={() => setSlabPhoto({ active: i })}
          onMove={(to, gesture) => move(i, to, gesture)}
        />
      ))}
    </Sheet>
  );
}
