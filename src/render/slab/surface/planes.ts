/**
 * A burned picture as a graphics card gives it: three planes of bytes a cell (red, green and blue of a texel; alpha is unused), laid as
 * `stackOf` says. First plane: sRGB-encoded colour. Second: height as a half float, low byte first, and whether the cell is left dark.
 * Third: scorch as a half float, and whether it is burned through.
 */
export type SurfacePlanes = ImageBitmap | Uint8Array<ArrayBuffer>;

export const PLANES = 3;

/** How the planes of a picture lie in one texture: beside or under one another, whichever makes it less long. */
export function stackOf({ width, height }: { readonly width: number; readonly height: number }) {
  const down = height <= width;
  return { width: down ? width : PLANES * width, height: down ? PLANES * height : height, down };
}
