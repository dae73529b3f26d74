import { labToXyz, linearRgbToLab } from '../../base/color/lab.ts';
import { encodeSrgbByte, srgbDecodingTable } from '../../base/color/srgb.ts';
import { applyHomography, fitHomography, type Homography, invertHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/outline.ts';
import { checkPhoto, type RgbaPhoto, type TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { quantity } from '../../base/quantity.ts';

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

/**
 * Radial distortion of a lens by the division model with one term: a straight line's image at p lies, without the lens's fault,
 * at c + (p − c) / (1 + k1 r²), r = |p − c| over half the photo's diagonal. k1 < 0 is a barrel, > 0 a cushion.
 * Source: A. W. Fitzgibbon, "Simultaneous linear estimation of multiple view geometry and lens distortion", CVPR 2001, eq. 3.
 * Test: test/unit/slab-homography.test.ts.
 */
export interface Lens {
  /** Middle of the distortion and the unit of r, photo pixels. */
  readonly centre: Point;
  readonly radiusPx: number;
  /** −0.5 … 0.5; 0: none. */
  readonly k1: number;
}

/** The lens of a photo whose distortion is about its middle. */
/** The most that a lens is taken to bend. */
export const DISTORTION = quantity(-0.5, 0.5, {
  label: 'Distortion k1',
  unit: '',
  step: 0.01,
  digits: 3,
  sliderLow: -0.2,
  sliderHigh: 0.2,
});

export const lensOfPhoto = (photo: { width: number; height: number }, k1 = 0): Lens => ({
  centre: [photo.width / 2, photo.height / 2],
  radiusPx: Math.hypot(photo.width, photo.height) / 2,
  k1,
});

/** From the photo's pixel to where a faultless lens would have put it. */
export function straighten(lens: Lens, point: Point): Point {
  const x = (point[0] - lens.centre[0]) / lens.radiusPx;
  const y = (point[1] - lens.centre[1]) / lens.radiusPx;
  const scale = lens.radiusPx / (1 + lens.k1 * (x * x + y * y));
  return [lens.centre[0] + scale * x, lens.centre[1] + scale * y];
}

/**
 * The way back, in closed form: r = 2 s / (1 + √(1 − 4 k1 s²)) for the straightened distance s.
 * Null where a cushion lens shows nothing (4 k1 s² > 1).
 */
export function bend(lens: Lens, point: Point): Point | null {
  const x = (point[0] - lens.centre[0]) / lens.radiusPx;
  const y = (point[1] - lens.centre[1]) / lens.radiusPx;
  const under = 1 - 4 * lens.k1 * (x * x + y * y);
  if (under < 0) return null;
  const scale = (2 * lens.radiusPx) / (1 + Math.sqrt(under));
  return [lens.centre[0] + scale * x, lens.centre[1] + scale * y];
}

const GOLDEN = (Math.sqrt(5) - 1) / 2;

const LARGEST = 0.5;

/**
 * Finds k1 together with the projective map, from pairs (photo pixel → mm): the k1 whose map leaves the least squares of
 * distance in mm, by a coarse search from −0.5 to 0.5 and golden section in the best interval. Six or more pairs spread to the
 * photo's corners tell it well; pairs near the middle do not.
 * @throws RangeError for fewer than five pairs (four fit any k1), or as `fitHomography` does.
 */
export function fitLens(photo: { width: number; height: number }, from: readonly Point[], to: readonly Point[]) {
  if (from.length < 5) throw new RangeError(`lens distortion needs at least five points, got ${from.length}`);
  const at = (k1: number): LensFit => {
    const lens = lensOfPhoto(photo, k1);
    const straight = from.map((point) => straighten(lens, point));
    const map = fitHomography(straight, to);
    const squares = straight.reduce((sum, point, i) => {
      const hit = applyHomography(map, point);
      return hit ? sum + (hit[0] - to[i][0]) ** 2 + (hit[1] - to[i][1]) ** 2 : Number.POSITIVE_INFINITY;
    }, 0);
    return { lens, map, residualMm: Math.sqrt(squares / from.length) };
  };
  const step = LARGEST / 10;
  let best = at(0);
  for (let k1 = -LARGEST; k1 <= LARGEST + 1e-9; k1 += step) {
    const fit = at(k1);
    if (fit.residualMm < best.residualMm) best = fit;
  }
  let low = best.lens.k1 - step;
  let high = best.lens.k1 + step;
  while (high - low > 1e-7) {
    const left = high - GOLDEN * (high - low);
    const right = low + GOLDEN * (high - low);
    if (at(left).residualMm < at(right).residualMm) high = right;
    else low = left;
  }
  return at((low + high) / 2);
}

interface LensFit {
  readonly lens: Lens;
  /** Straightened photo pixels → mm. */
  readonly map: Homography;
  /** Root mean square distance of the fitted points from where they belong, mm. */
  readonly residualMm: number;
}

/** How a photograph is brought to true size. */
export interface PhotoScale {
  readonly lens: Lens;
  /** Photo pixels, straightened by the lens, → mm in the plane of the marks; the first mark is the origin. */
  readonly toMm: Homography;
  /** False: only the size is known and the photo must have been taken from straight above. */
  readonly perspectiveCorrected: boolean;
  /** Size of a photo pixel in the middle of the marks, mm. */
  readonly pixelMm: number;
  /** Sentences for the maker about what this scale cannot know. */
  readonly notes: readonly string[];
}

export interface PhotoSize {
  readonly width: number;
  readonly height: number;
}

/** Photo pixel → mm; null beyond the horizon. */
export const photoToMm = (scale: Pick<PhotoScale, 'lens' | 'toMm'>, point: Point): Point | null =>
  applyHomography(scale.toMm, straighten(scale.lens, point));

/** Side of the square that has a photo pixel's area, mm; NaN beyond the horizon. */
export function pixelSizeMm(scale: Pick<PhotoScale, 'lens' | 'toMm'>, [x, y]: Point): number {
  const here = photoToMm(scale, [x, y]);
  const right = photoToMm(scale, [x + 1, y]);
  const below = photoToMm(scale, [x, y + 1]);
  if (!here || !right || !below) return Number.NaN;
  const area = (right[0] - here[0]) * (below[1] - here[1]) - (right[1] - here[1]) * (below[0] - here[0]);
  return Math.sqrt(Math.abs(area));
}

/** L* (0–100), a*, b* of each pixel (D65), row-major. */
export interface LabPlanes {
  readonly L: Float32Array;
  readonly a: Float32Array;
  readonly b: Float32Array;
}

/** XYZ of red, green and blue at full, over that of white, column by column; from the same conversions as everywhere. */
const WHITE = labToXyz(linearRgbToLab([1, 1, 1]));

const [RED, GREEN, BLUE] = (
  [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ] as const
).map((rgb) => labToXyz(linearRgbToLab(rgb)).map((value, k) => value / WHITE[k]));

/**
 * L*a*b* of a whole photo: `linearRgbToLab` of src/base/color/lab.ts pixel by pixel, but without an object per pixel, which makes it
 * quick enough for millions. Opacity is not looked at.
 * Source: CIE 15:2004, 8.2.1. Test: agrees with `linearRgbToLab` within 0.01 (test/unit/slab-segment.test.ts).
 */
export function labPlanes({ width, height, rgba }: RgbaPhoto): LabPlanes {
  const linear = srgbDecodingTable(8);
  const count = width * height;
  const planes = { L: new Float32Array(count), a: new Float32Array(count), b: new Float32Array(count) };
  for (let i = 0; i < count; i++) {
    const r = linear[rgba[4 * i]];
    const g = linear[rgba[4 * i + 1]];
    const b = linear[rgba[4 * i + 2]];
    const x = cubeRootLike(RED[0] * r + GREEN[0] * g + BLUE[0] * b);
    const y = cubeRootLike(RED[1] * r + GREEN[1] * g + BLUE[1] * b);
    const z = cubeRootLike(RED[2] * r + GREEN[2] * g + BLUE[2] * b);
    planes.L[i] = 116 * y - 16;
    planes.a[i] = 500 * (x - y);
    planes.b[i] = 200 * (y - z);
  }
  return planes;
}

const cubeRootLike = (t: number): number => (t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116);
