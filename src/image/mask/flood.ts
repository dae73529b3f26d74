import { blurGaussian } from '../gaussian-blur.ts';
import { squareExtreme } from '../repair/defects.ts';

/** A picture to cut out: lightness (L* / 100, 0–1) and, where it has colour, a* / 100 and b* / 100; row-major. */
interface FloodPicture {
  readonly width: number;
  readonly height: number;
  readonly lightness: Float32Array;
  readonly a?: Float32Array;
  readonly b?: Float32Array;
}

export interface FloodOptions {
  /** Places that are background (shares of width and of height, 0–1), or sides of the picture that are. */
  readonly from: readonly (readonly [x: number, y: number])[] | readonly Side[];
  /** Colour distance, √(ΔL² + Δa² + Δb²) / 100, up to which a dot counts as like what was flooded before it. */
  readonly tolerance: number;
  /**
   * Share, 0–1, by which each dot draws what counts as like towards its own colour: a background that shades by less than
   * tolerance × this from dot to dot is followed. 0: all is compared with the place where the flood began.
   */
  readonly follow: number;
  /** Change of lightness from dot to dot (on a picture blurred by one dot) that the flood does not cross. */
  readonly edge: number;
  /** Islands and holes narrower than 2 · this + 1 dots are closed; whole, ≥ 0. */
  readonly cleanDots: number;
  /** Dots by which the background grows into the edge that stopped the flood; whole, ≥ 0. */
  readonly growDots: number;
  /** Standard deviation of the soft edge, dots, ≥ 0. */
  readonly softDots: number;
}

const FLOOD_DEFAULTS: FloodOptions = {
  from: ['top', 'left', 'right'],
  tolerance: 0.12,
  follow: 1 / 16,
  edge: 0.06,
  cleanDots: 2,
  growDots: 1,
  softDots: 1,
};

/**
 * Removes a calm background: floods from given places or sides over dots of a like colour, stopped by edges. What counts as like
 * slowly follows the colours met on the way, so a sky that shades from side to side is followed, and a subject, which begins at
 * once, is not crept into. What is left is cleaned by closing and opening, and its edge softened.
 * Source: flood fill and morphological cleaning (textbook; no published source for the combination).
 * Test: planted subjects (test/unit/mask-flood.test.ts).
 * @returns a mask: 0 background … 255 subject.
 * @throws RangeError if the planes differ in length.
 */
export function removeBackground(picture: FloodPicture, options: Partial<FloodOptions> = {}): Uint8Array {
  const { from, cleanDots, growDots, softDots, ...limits } = { ...FLOOD_DEFAULTS, ...options };
  const { width, height } = picture;
  const planes = [picture.lightness, picture.a, picture.b].filter((plane) => plane !== undefined);
  if (planes.some((plane) => plane.length !== width * height)) {
    throw new RangeError(`a picture of ${width} × ${height} dots needs as many values in each plane`);
  }
  const seeds =
    typeof from[0] === 'string'
      ? borderSeeds(planes, width, height, from as readonly Side[])
      : pointSeeds(planes, width, height, from as readonly (readonly [number, number])[]);
  const subject = flood(picture, planes, seeds, limits);
  const extreme = (which: 'greatest' | 'least', radius: number) => {
    if (radius > 0) subject.set(squareExtreme(subject, width, height, radius, which));
  };
  extreme('greatest', cleanDots);
  extreme('least', 2 * cleanDots);
  extreme('greatest', cleanDots);
  extreme('least', growDots);
  if (!(softDots > 0)) return subject;
  const soft = blurGaussian(new Float32Array(subject), width, height, softDots);
  for (let i = 0; i < soft.length; i++) subject[i] = soft[i] + 0.5;
  return subject;
}

/** 255 where the flood did not come, else 0. */
function flood(
  { width, height, lightness }: FloodPicture,
  planes: readonly Float32Array[],
  seeds: readonly FloodSeed[],
  { tolerance, follow, edge }: Pick<FloodOptions, 'tolerance' | 'follow' | 'edge'>,
): Uint8Array {
  const stops = edgesOf(lightness, width, height, edge);
  const subject = new Uint8Array(width * height).fill(255);
  const queue = new Int32Array(width * height);
  const limit = tolerance * tolerance;
  // What each flooded dot is like; its neighbours are compared with that.
  const likes = planes.map((plane) => new Float32Array(plane.length));
  const [first, second, third] = planes;
  const [like, secondLike, thirdLike] = likes;
  let tail = 0;
  const take = (i: number) => {
    subject[i] = 0;
    queue[tail++] = i;
  };
  const enter = (i: number, from: number) => {
    if (subject[i] === 0) return;
    const d0 = first[i] - like[from];
    const d1 = second === undefined ? 0 : second[i] - secondLike[from];
    const d2 = third === undefined ? 0 : third[i] - thirdLike[from];
    if (!(d0 * d0 + d1 * d1 + d2 * d2 <= limit)) return;
    like[i] = like[from] + follow * d0;
    if (second !== undefined) secondLike[i] = secondLike[from] + follow * d1;
    if (third !== undefined) thirdLike[i] = thirdLike[from] + follow * d2;
    take(i);
  };
  for (const { dots, color } of seeds) {
    for (const i of dots) {
      const square = planes.reduce((sum, plane, k) => sum + (plane[i] - color[k]) ** 2, 0);
      if (subject[i] === 0 || !(square <= limit)) continue;
      for (let k = 0; k < planes.length; k++) likes[k][i] = color[k];
      take(i);
    }
  }
  for (let head = 0; head < tail; head++) {
    const i = queue[head];
    if (stops[i] === 1) continue;
    const x = i % width;
    if (x > 0) enter(i - 1, i);
    if (x < width - 1) enter(i + 1, i);
    if (i >= width) enter(i - width, i);
    if (i + width < subject.length) enter(i + width, i);
  }
  return subject;
}

/** 1 where lightness, blurred by one dot, changes by more than `edge` from dot to dot. */
function edgesOf(lightness: Float32Array, width: number, height: number, edge: number): Uint8Array {
  const smooth = blurGaussian(lightness, width, height, 1);
  const stops = new Uint8Array(smooth.length);
  for (let y = 0; y < height; y++) {
    const above = y > 0 ? width : 0;
    const below = y < height - 1 ? width : 0;
    for (let x = 0, i = y * width; x < width; x++, i++) {
      const left = x > 0 ? 1 : 0;
      const right = x < width - 1 ? 1 : 0;
      const slopeX = (smooth[i + right] - smooth[i - left]) / Math.max(1, left + right);
      const slopeY = (smooth[i + below] - smooth[i - above]) / Math.max(1, (above + below) / width);
      if (slopeX * slopeX + slopeY * slopeY > edge * edge) stops[i] = 1;
    }
  }
  return stops;
}

export type Side = 'top' | 'left' | 'right' | 'bottom';

/** Where a flood starts and the colour, one value per plane, that its dots are compared with. */
interface FloodSeed {
  readonly dots: readonly number[];
  readonly color: readonly number[];
}

/** Dots on every side of a point whose mean colour counts. */
const AROUND = 2;

/** Parts of a side, each with the middle colour of its own. */
const PARTS = 16;

/** Seeds at points, shares of width and of height; points outside are moved onto the border. */
function pointSeeds(
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
function borderSeeds(
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
