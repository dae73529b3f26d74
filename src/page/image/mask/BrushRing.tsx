import type { BrushShape } from './brush-settings.ts';
import type { StrokePoint } from './thin-points.ts';

interface BrushRingProps {
  at: StrokePoint;
  brush: BrushShape;
  /** Height of the sheet over its width. */
  tall: number;
}

/** Where the brush is and how far it reaches; the inner ring is where it begins to fade. */
export function BrushRing({ at: [x, y], brush: { does, radius, hardness }, tall }: BrushRingProps) {
  return (
    <i
      className={`mask-ring mask-ring-${does}`}
      aria-hidden="true"
      style={{ left: `${100 * x}%`, top: `${(100 * y) / tall}%`, width: `${200 * radius}%` }}
    >
      {hardness > 0.05 && hardness < 0.98 && <i style={{ inset: `${50 * (1 - hardness)}%` }} />}
    </i>
  );
}
