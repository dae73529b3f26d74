export type Side = 'top' | 'left' | 'right' | 'bottom';

/** Where a flood starts and the colour, one value per plane, that its dots are compared with. */
export interface FloodSeed {
  readonly dots: readonly number[];
  readonly color: readonly number[];
}

/** Dots on every side of a point whose mean colour counts. */
const AROUND = 2;
/** Parts of a side, each with the middle colour of its own. */
const PARTS = 16;

/** Seeds at points, shares of width and of height; points outside are moved onto the border. */
export function pointSeeds(
  planes: readonly Float32Array[],
  width: number,
  height: number,
  points: readonly (readonly [number, number])[],
): FloodSeed[] {
  const hold = (value: number, count: number) => Math.min(count - 1, Math.max(0, Math.floor(value * count)));
  if (width * height === 0) return [];
  return points.map(([px, py]) => {
    const [x, y] = [hold(px, width), hold(py, height)];
    const near: number[] = [];
    for (let v = Math.max(0, y - AROUND); v <= Math.min(height - 1, y + AROUND); v++) {
      for (let u = Math.max(0, x - AROUND); u <= Math.min(width - 1, x + AROUND); u++) near.push(v * width + u);
    }
    const mean = (plane: Float32Array) => near.reduce((sum, i) => sum + plane[i], 0) / near.length;
    return { dots: [y * width + x], color: planes.map(mean) };
  });
}

/** Seeds along sides, in parts short enough that each has one colour: the median, so that a mast or a wire does not count. */
export function borderSeeds(
  planes: readonly Float32Array[],
  width: number,
  height: number,
  sides: readonly Side[],
): FloodSeed[] {
  if (width * height === 0) return [];
  return sides.flatMap((side) => {
    const across = side === 'top' || side === 'bottom';
    const start = side === 'bottom' ? (height - 1) * width : side === 'right' ? width - 1 : 0;
    const step = across ? 1 : width;
    const count = across ? width : height;
    const parts = Math.min(PARTS, count);
    return Array.from({ length: parts }, (_, part): FloodSeed => {
      const from = Math.round((part * count) / parts);
      const to = Math.round(((part + 1) * count) / parts);
      const dots = Array.from({ length: to - from }, (_, i) => start + (from + i) * step);
      return { dots, color: planes.map((plane) => median(dots.map((i) => plane[i]))) };
    });
  });
}

function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[sorted.length >> 1];
}
