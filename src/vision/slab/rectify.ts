import { encodeSrgbByte } from '../../base/color/srgb.ts';
import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import { applyHomography, type Homography, invertHomography } from '../../base/geometry/homography.ts';
import { checkPhoto, type RgbaPhoto, type TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { bend, type Lens } from './lens.ts';

/** A rectangle in the plane of the slab's face, mm. */
export interface AreaMm {
  readonly leftMm: number;
  readonly topMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** Most pixels of a rectified photo: 64 million. */
const MOST_PIXELS = 1 << 26;
/** Samples along a side of a pixel when the photo is finer than the result. */
const MOST_SAMPLES = 8;

/**
 * A photograph laid flat at true size. Each new pixel is the mean, in linear light, of n × n bilinear samples of the photo, n being
 * how many photo pixels it covers along its longer side (at most 8), so shrinking does not alias and enlarging is bilinear.
 * What the photo does not show is transparent black.
 * Error: bytes within one code of the same sums in floating point. Test: test/reference/homography.test.ts (scikit-image).
 * @param area what to show, as `visibleArea` gives it. @param mmPerPixel pitch of the result, > 0.
 * @throws RangeError for a photo under 50 pixels a side, a pitch or area that is not greater than zero, more than 64 million pixels.
 */
export function rectifyPhoto(
  photo: RgbaPhoto,
  scale: { readonly lens: Lens; readonly toMm: Homography },
  area: AreaMm,
  mmPerPixel: number,
): TrueSizePhoto {
  checkPhoto(photo);
  if (!(mmPerPixel > 0)) throw new RangeError(`a pixel must be larger than 0 mm, got ${mmPerPixel}`);
  const width = Math.round(area.widthMm / mmPerPixel);
  const height = Math.round(area.heightMm / mmPerPixel);
  if (!(width >= 1 && height >= 1)) throw new RangeError('the area to be rectified is smaller than one pixel');
  if (width * height > MOST_PIXELS) {
    throw new RangeError(`${width} × ${height} pixels are too many: choose larger pixels or a smaller area`);
  }
  const { leftMm, topMm } = area;
  const fromMm = invertHomography(scale.toMm);
  const place = (xMm: number, yMm: number) => {
    const straight = applyHomography(fromMm, [xMm, yMm]);
    return straight && bend(scale.lens, straight);
  };
  const sampler = createSampler(photo);
  const rgba = new Uint8Array(4 * width * height);
  for (let j = 0; j < height; j++) {
    let left = place(leftMm, topMm + (j + 0.5) * mmPerPixel);
    for (let i = 0; i < width; i++) {
      const right = place(leftMm + (i + 1) * mmPerPixel, topMm + (j + 0.5) * mmPerPixel);
      const here = left;
      left = right;
      if (!here || !right) continue;
      const below = place(leftMm + i * mmPerPixel, topMm + (j + 1.5) * mmPerPixel);
      if (!below) continue;
      const reach = Math.max(
        Math.hypot(right[0] - here[0], right[1] - here[1]),
        Math.hypot(below[0] - here[0], below[1] - here[1]),
      );
      const n = Math.min(MOST_SAMPLES, Math.max(1, Math.ceil(reach - 0.01)));
      // Over one pixel the map is as good as straight: its two edges span it.
      const rx = (right[0] - here[0]) / n;
      const ry = (right[1] - here[1]) / n;
      const bx = (below[0] - here[0]) / n;
      const by = (below[1] - here[1]) / n;
      sampler.start();
      for (let v = 0; v < n; v++) {
        for (let u = 0; u < n; u++) {
          const down = v + 0.5 - n / 2;
          sampler.add(here[0] + (u + 0.5) * rx + down * bx, here[1] + (u + 0.5) * ry + down * by);
        }
      }
      sampler.write(rgba, 4 * (j * width + i), n * n);
    }
  }
  return { width, height, rgba, mmPerPixel, leftMm, topMm };
}

/** Adds up bilinear samples in linear light, weighted with opacity. */
function createSampler({ width, height, rgba }: RgbaPhoto) {
  const linear = srgbDecodingTable(8);
  const sums = [0, 0, 0, 0];
  const corner = (x: number, y: number, share: number): void => {
    const at = 4 * (Math.min(height - 1, Math.max(0, y)) * width + Math.min(width - 1, Math.max(0, x)));
    const weight = share * rgba[at + 3];
    sums[0] += weight * linear[rgba[at]];
    sums[1] += weight * linear[rgba[at + 1]];
    sums[2] += weight * linear[rgba[at + 2]];
    sums[3] += weight;
  };
  return {
    start(): void {
      sums.fill(0);
    },
    /** Pixel (i, j) has its middle at (i + 0.5, j + 0.5); nothing is added outside the photo. */
    add(x: number, y: number): void {
      if (!(x >= 0 && x <= width && y >= 0 && y <= height)) return;
      const left = Math.floor(x - 0.5);
      const top = Math.floor(y - 0.5);
      const u = x - 0.5 - left;
      const v = y - 0.5 - top;
      corner(left, top, (1 - u) * (1 - v));
      corner(left + 1, top, u * (1 - v));
      corner(left, top + 1, (1 - u) * v);
      corner(left + 1, top + 1, u * v);
    },
    write(out: Uint8Array, at: number, samples: number): void {
      if (sums[3] === 0) return;
      for (let k = 0; k < 3; k++) out[at + k] = encodeSrgbByte(sums[k] / sums[3]);
      out[at + 3] = Math.round(sums[3] / samples);
    },
  };
}
