import { useEffect, useRef } from 'react';
import { MARK_NAMES } from './slab-marks.ts';
import { type SlabPhoto, useSlabPhoto } from './slab-photo-store.ts';

const SIZE = 176;
const TIMES = 4;

/** The photo round the mark that is being placed, four times as large. */
export function Magnifier({ photo }: { photo: SlabPhoto }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { kind, points } = useSlabPhoto((state) => state.work.marks);
  const active = useSlabPhoto((state) => Math.min(state.active, MARK_NAMES[kind].length - 1));
  const [x, y] = points[kind][active];
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const side = SIZE / TIMES;
    context.clearRect(0, 0, SIZE, SIZE);
    context.imageSmoothingEnabled = false;
    context.drawImage(photo.bitmap, x - side / 2, y - side / 2, side, side, 0, 0, SIZE, SIZE);
  }, [photo, x, y]);
  return (
    <figure className="sp-magnifier">
      <div>
        <canvas ref={canvas} width={SIZE} height={SIZE} />
      </div>
      <figcaption className="hint">{MARK_NAMES[kind][active]}, four times as large</figcaption>
    </figure>
  );
}
