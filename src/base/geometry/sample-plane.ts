/** Bilinear value of a row-major plane at (x, y) in cells, the middle of the first being (0.5, 0.5); held at the edges. */
export function samplePlane(plane: ArrayLike<number>, width: number, height: number, x: number, y: number): number {
  const left = Math.floor(x - 0.5);
  const top = Math.floor(y - 0.5);
  const u = x - 0.5 - left;
  const v = y - 0.5 - top;
  const x0 = Math.min(width - 1, Math.max(0, left));
  const x1 = Math.min(width - 1, Math.max(0, left + 1));
  const row0 = Math.min(height - 1, Math.max(0, top)) * width;
  const row1 = Math.min(height - 1, Math.max(0, top + 1)) * width;
  return (
    (1 - v) * ((1 - u) * plane[row0 + x0] + u * plane[row0 + x1]) +
    v * ((1 - u) * plane[row1 + x0] + u * plane[row1 + x1])
  );
}
