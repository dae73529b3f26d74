import type { BrushStroke } from '../../../piece/schema.ts';
import type { BrushShape } from './brush-settings.ts';
import { splitPoints } from './split-points.ts';
import { type StrokePoint, thinPoints } from './thin-points.ts';

/** How far a thinned line may lie off what was drawn, as a share of the brush's radius. */
const OFF = 0.04;

/** What a brush drew, with as few points as show no difference; a long scribble becomes several strokes. */
export function finishStroke({ does, radius, hardness }: BrushShape, points: readonly StrokePoint[]): BrushStroke[] {
  const thin = thinPoints(points, OFF * radius).map(([x, y]): StrokePoint => [round(x), round(y)]);
  return splitPoints(thin).map((part) => ({ does, radius: round(radius), hardness: round(hardness), points: part }));
}

const round = (share: number): number => Math.round(share * 1e5) / 1e5;
