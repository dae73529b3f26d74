import type { Picture } from './picture.ts';

/** How a stored picture must be turned to stand upright: values of tag 274 (Orientation) in TIFF 6.0 and Exif. */
export type Orientation = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8;

/** For each orientation: whether rows and columns change places first, then which axes of the upright picture run backwards. */
const TURNS: Record<Orientation, readonly [swap: boolean, backwardsX: boolean, backwardsY: boolean]> = {
  1: [false, false, false],
  2: [false, true, false],
  3: [false, true, true],
  4: [false, false, true],
  5: [true, false, false],
  6: [true, true, false],
  7: [true, true, true],
  8: [true, false, true],
};

/**
 * Turns a picture upright. Orientation 1 returns the picture itself; 5–8 swap width and height.
 * Source: TIFF Revision 6.0 (1992), tag Orientation.
 * @throws RangeError for another orientation.
 */
export function applyOrientation(picture: Picture, orientation: Orientation): Picture {
  const turn = TURNS[orientation];
  if (!turn) throw new RangeError(`an orientation is a whole number from 1 to 8, got ${orientation}`);
  if (orientation === 1) return picture;
  const width = turn[0] ? picture.height : picture.width;
  const height = turn[0] ? picture.width : picture.height;
  const [acrossX, acrossY] = turn[0] ? [picture.width, 1] : [1, picture.width];
  const stepX = turn[1] ? -acrossX : acrossX;
  const stepY = turn[2] ? -acrossY : acrossY;
  const start = (turn[1] ? (width - 1) * acrossX : 0) + (turn[2] ? (height - 1) * acrossY : 0);
  const turnPlane = (plane: Float32Array): Float32Array => {
    const turned = new Float32Array(plane.length);
    for (let y = 0, to = 0; y < height; y++) {
      for (let x = 0, from = start + y * stepY; x < width; x++, from += stepX) turned[to++] = plane[from];
    }
    return turned;
  };
  return { width, height, luminance: turnPlane(picture.luminance), alpha: picture.alpha && turnPlane(picture.alpha) };
}
