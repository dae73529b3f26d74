import { type Picture, rotatePicture } from './picture.ts';
import { resamplePicture } from './resample.ts';

/** A rectangle in a picture, lengths in shares of its width from its left top corner; `turnRad` turns the content, counter-clockwise. */
export interface PictureCut {
  readonly xMiddle: number;
  readonly yMiddle: number;
  readonly width: number;
  readonly height: number;
  readonly turnRad: number;
}

/**
 * What a cut holds of a picture, at a size: the box round the cut is resampled to the new pitch and then turned into place, so that a
 * large photograph is never turned as a whole. An upright cut is rounded to whole pixels. What lies beyond the picture is transparent.
 * Test: test/unit/image-cut.test.ts.
 * @throws RangeError for a cut that lies beside the picture.
 */
export function cutPicture(picture: Picture, cut: PictureCut, width: number, height: number): Picture {
  const pixels = picture.width;
  const [cosine, sine] = [Math.cos(cut.turnRad), Math.sin(cut.turnRad)];
  const halfX = (pixels * (cut.width * Math.abs(cosine) + cut.height * Math.abs(sine))) / 2;
  const halfY = (pixels * (cut.width * Math.abs(sine) + cut.height * Math.abs(cosine))) / 2;
  const [middleX, middleY] = [cut.xMiddle * pixels, cut.yMiddle * pixels];
  if (cut.turnRad === 0) {
    const box = partOf(picture, middleX - halfX, middleY - halfY, middleX + halfX, middleY + halfY, Math.round);
    return resamplePicture(box.picture, width, height);
  }
  // Two pixels more, so that the filters find neighbours.
  const box = partOf(
    picture,
    middleX - halfX - 2,
    middleY - halfY - 2,
    middleX + halfX + 2,
    middleY + halfY + 2,
    Math.floor,
  );
  const scale = width / (cut.width * pixels);
  const small = resamplePicture(
    box.picture,
    Math.max(1, Math.round(box.picture.width * scale)),
    Math.max(1, Math.round(box.picture.height * scale)),
  );
  return rotatePicture(small, { cosine, sine }, width, height, [
    ((middleX - box.left) * small.width) / box.picture.width,
    ((middleY - box.top) * small.height) / box.picture.height,
  ]);
}

/** The pixels between four sides, as far as there are any. */
function partOf(
  { width, height, luminance, alpha }: Picture,
  left: number,
  top: number,
  right: number,
  bottom: number,
  settle: (value: number) => number,
): { readonly picture: Picture; readonly left: number; readonly top: number } {
  const [x0, y0] = [Math.max(0, settle(left)), Math.max(0, settle(top))];
  const [x1, y1] = [Math.min(width, settle(right)), Math.min(height, settle(bottom))];
  const [columns, rows] = [Math.max(1, x1 - x0), Math.max(1, y1 - y0)];
  if (x0 >= width || y0 >= height || x1 <= 0 || y1 <= 0)
    throw new RangeError('the cut lies beside the photograph: set it anew');
  const part = (plane: Float32Array): Float32Array => {
    const out = new Float32Array(columns * rows);
    for (let y = 0; y < rows; y++) {
      const from = Math.min(height - 1, y0 + y) * width + x0;
      out.set(plane.subarray(from, from + columns), y * columns);
    }
    return out;
  };
  const picture = { width: columns, height: rows, luminance: part(luminance), alpha: alpha && part(alpha) };
  return { picture, left: x0, top: y0 };
}
