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
      `the photo is ${width} × ${height} pixels; a slab can be found from ${LEAST_SIDE_PX} pixels a side upwards`,
    );
  }
  if (rgba.length !== 4 * width * height) {
    throw new RangeError(`a photo of ${width} × ${height} pixels has ${4 * width * height} bytes, got ${rgba.length}`);
  }
}
