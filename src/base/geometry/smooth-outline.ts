import type { Point, Polygon } from './point.ts';
import { resampleOutline } from './resample-outline.ts';
import { smoothRing } from './smooth-ring.ts';

/**
 * An outline without its fine jitter: points at even distances, blurred along the line with a Gaussian. Where the outline bends
 * with radius R it moves inwards by σ² / 2R; corners are rounded.
 * @param sigmaMm standard deviation along the line, ≥ 0. The points returned lie a third of it apart, 0.2 mm at least.
 */
export function smoothOutline(polygon: Polygon, sigmaMm: number): Polygon {
  if (!(sigmaMm > 0)) return polygon;
  const even = resampleOutline(polygon, Math.max(0.2, sigmaMm / 3));
  const stepMm = Math.hypot(even[1][0] - even[0][0], even[1][1] - even[0][1]) || 0.2;
  const xs = smoothRing(
    even.map(([x]) => x),
    sigmaMm / stepMm,
  );
  const ys = smoothRing(
    even.map(([, y]) => y),
    sigmaMm / stepMm,
  );
  return even.map((_, i): Point => [xs[i], ys[i]]);
}
