/** A photograph as decoders hand it over: sRGB bytes, four to a pixel (red, green, blue, opacity), row-major. */
export interface RgbaPhoto {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8Array | Uint8ClampedArray;
}

/** A photograph at true size: the middle of pixel (i, j) lies at `leftMm + (i + 0.5) mmPerPixel`, `topMm + (j + 0.5) mmPerPixel`. */
export interface TrueSizePhoto extends RgbaPhoto {
  readonly mmPerPixel: number;
  readonly leftMm: number;
  readonly topMm: number;
}

/** Shortest side a photo of a slab may have, pixels. */
export const LEAST_SIDE_PX = 50;

/**
 * @throws RangeError if a side is shorter than 50 pixels or the bytes are not as many as the size says.
 */
export function checkPhoto(photo: RgbaPhoto): void {
  const { width, height, rgba } = photo;
  if (!(width >= LEAST_SIDE_PX && height >= LEAST_SIDE_PX)) {
    throw new RangeError(
      `the photograph is ${width} × ${height} pixels; a slab can be found from ${LEAST_SIDE_PX} pixels a side upwards`,
    );
  }
  if (rgba.length !== 4 * width * height) {
    throw new RangeError(
      `a photograph of ${width} × ${height} pixels has ${4 * width * height} bytes, got ${rgba.length}`,
    );
  }
}

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
