import { lightnessToLuminance, luminanceToLightness } from '../../image/lightness.ts';
import type { ToneImage } from '../../image/picture.ts';
import type { Motion, Slab } from '../../piece/schema.ts';

/**
 * The raster of one pass: columns along the rows' heading, rows in the order in which they are burned.
 * Heading 0 runs left to right with the first row at the far edge; the heading turns counter-clockwise as seen from above.
 * Raster place (u, v) in dots, dot (c, r) covering c … c + 1; picture place (x, y) in mm from the picture's far left corner.
 */
export interface PassRaster {
  readonly columns: number;
  readonly rows: number;
  readonly pitchMm: number;
  readonly headingRad: number;
  /** u = column[0] + column[1]·xMm + column[2]·yMm. */
  readonly column: readonly [number, number, number];
  readonly row: readonly [number, number, number];
}

/** Snaps what is a multiple of 90° but for rounding, so that straight headings stay exact. */
function unitVector(headingRad: number): { cosine: number; sine: number } {
  const snap = (value: number) => (Math.abs(value - Math.round(value)) < 1e-9 ? Math.round(value) : value);
  return { cosine: snap(Math.cos(headingRad)), sine: snap(Math.sin(headingRad)) };
}

/**
 * Raster that covers a picture of the given size.
 * @throws RangeError if a size or the pitch is not positive.
 */
export function createPassRaster(widthMm: number, heightMm: number, pitchMm: number, headingRad: number): PassRaster {
  if (!(widthMm > 0 && heightMm > 0 && pitchMm > 0)) {
    throw new RangeError(`a raster needs positive sizes, got ${widthMm} × ${heightMm} mm at ${pitchMm} mm`);
  }
  const { cosine, sine } = unitVector(headingRad);
  const count = (lengthMm: number) => Math.max(1, Math.round(lengthMm / pitchMm));
  const columns = count(widthMm * Math.abs(cosine) + heightMm * Math.abs(sine));
  const rows = count(widthMm * Math.abs(sine) + heightMm * Math.abs(cosine));
  const perX = [cosine / pitchMm, sine / pitchMm];
  const perY = [-sine / pitchMm, cosine / pitchMm];
  return {
    columns,
    rows,
    pitchMm,
    headingRad,
    column: [columns / 2 - (perX[0] * widthMm + perY[0] * heightMm) / 2, perX[0], perY[0]],
    row: [rows / 2 - (perX[1] * widthMm + perY[1] * heightMm) / 2, perX[1], perY[1]],
  };
}

/** A pass's screened raster with what its rows travel. */
export interface ScreenedPass {
  readonly raster: PassRaster;
  readonly levels: Uint8Array;
  readonly mask: Uint8Array;
  readonly spans: RowSpans;
}

/**
 * The prepared picture as the pass's raster sees it. Straight headings pick pixels; others interpolate bilinearly in linear
 * light. Dots whose centre lies outside the picture are masked.
 * `imagePitchMm` is the size of one pixel of `image` on the slab.
 */
export function orientToRaster(image: ToneImage, imagePitchMm: number, raster: PassRaster): ToneImage {
  const { column, row } = raster;
  const determinant = column[1] * row[2] - column[2] * row[1];
  // Raster place back to picture place, in pixels.
  const inverse = [row[2], -column[2], -row[1], column[1]].map((v) => v / determinant / imagePitchMm);
  const same =
    raster.columns === image.width &&
    raster.rows === image.height &&
    Math.abs(inverse[0] - 1) < 1e-9 &&
    Math.abs(inverse[3] - 1) < 1e-9;
  if (same) return image;

  const lightness = new Float32Array(raster.columns * raster.rows);
  const mask = new Uint8Array(lightness.length);
  const straight = inverse.every((v) => Math.abs(v - Math.round(v)) < 1e-6);
  for (let r = 0; r < raster.rows; r++) {
    for (let c = 0; c < raster.columns; c++) {
      const u = c + 0.5 - column[0];
      const v = r + 0.5 - row[0];
      const x = inverse[0] * u + inverse[1] * v - 0.5;
      const y = inverse[2] * u + inverse[3] * v - 0.5;
      const nearX = Math.round(x);
      const nearY = Math.round(y);
      if (nearX < 0 || nearY < 0 || nearX >= image.width || nearY >= image.height) continue;
      const from = nearY * image.width + nearX;
      const to = r * raster.columns + c;
      mask[to] = image.mask[from];
      lightness[to] = straight ? image.lightness[from] : bilinear(image, x, y);
    }
  }
  return { width: raster.columns, height: raster.rows, lightness, mask };
}

function bilinear(image: ToneImage, x: number, y: number): number {
  const clampX = Math.min(Math.max(x, 0), image.width - 1);
  const clampY = Math.min(Math.max(y, 0), image.height - 1);
  const x0 = Math.min(Math.floor(clampX), Math.max(0, image.width - 2));
  const y0 = Math.min(Math.floor(clampY), Math.max(0, image.height - 2));
  const x1 = Math.min(x0 + 1, image.width - 1);
  const y1 = Math.min(y0 + 1, image.height - 1);
  const at = (px: number, py: number) => lightnessToLuminance(image.lightness[py * image.width + px]);
  const fx = clampX - x0;
  const fy = clampY - y0;
  const top = at(x0, y0) * (1 - fx) + at(x1, y0) * fx;
  const bottom = at(x0, y1) * (1 - fx) + at(x1, y1) * fx;
  return luminanceToLightness(top * (1 - fy) + bottom * fy);
}

/**
 * The rows of a mask, from their first to their last dot that is not 0, whatever the picture shows there. What a pass over them takes
 * less than over the full rectangle is what the mask saves: holes inside a row save nothing.
 * Test: closed form and common practice (test/unit/mask-saved-time.test.ts).
 */
export const maskSpans = (mask: Uint8Array, columns: number, rows: number, twoWay: boolean): RowSpans =>
  findSpans(mask, mask, columns, rows, () => true, twoWay);

/** First and one past the last dot of each row that get any power; both 0 for a row that is skipped. */
export interface RowSpans {
  readonly first: Int32Array;
  readonly end: Int32Array;
  /** 1 where the row is travelled from its end to its start. */
  readonly backwards: Uint8Array;
  /** Long blank stretches inside the rows; none told where nobody asked for them. */
  readonly gaps?: RowGaps;
}

/** Stretches of dots that get no power: row r has those numbered `start[r]` to `start[r + 1] − 1`, in rising order. */
interface RowGaps {
  readonly start: Int32Array;
  readonly first: Int32Array;
  readonly end: Int32Array;
}

/**
 * Finds what each row has to travel. Two-way rows alternate over those that are travelled at all.
 * `levels` holds a level per dot (row-major); `fires[level]` says whether that level lets any
 * light out. Blank stretches of at least `leastGapDots` dots inside a row are told apart.
 */
export function findSpans(
  levels: Uint8Array,
  mask: Uint8Array,
  columns: number,
  rows: number,
  fires: (level: number) => boolean,
  twoWay: boolean,
  leastGapDots = Number.POSITIVE_INFINITY,
): RowSpans {
  const firing = Uint8Array.from({ length: 256 }, (_, level) => (fires(level) ? 1 : 0));
  const first = new Int32Array(rows);
  const end = new Int32Array(rows);
  const backwards = new Uint8Array(rows);
  const gapStart = new Int32Array(rows + 1);
  const gapFirst: number[] = [];
  const gapEnd: number[] = [];
  let turned = 0;
  for (let r = 0; r < rows; r++) {
    gapStart[r + 1] = gapFirst.length;
    const base = r * columns;
    let from = 0;
    while (from < columns && !(mask[base + from] > 0 && firing[levels[base + from]])) from++;
    if (from === columns) continue;
    let to = columns;
    while (!(mask[base + to - 1] > 0 && firing[levels[base + to - 1]])) to--;
    first[r] = from;
    end[r] = to;
    backwards[r] = turned;
    if (twoWay) turned = 1 - turned;
    if (leastGapDots > to - from) continue;
    let blankFrom = from;
    for (let c = from; c < to; c++) {
      if (!(mask[base + c] > 0 && firing[levels[base + c]])) continue;
      if (c - blankFrom >= leastGapDots) {
        gapFirst.push(blankFrom);
        gapEnd.push(c);
      }
      blankFrom = c + 1;
    }
    gapStart[r + 1] = gapFirst.length;
  }
  const gaps = { start: gapStart, first: Int32Array.from(gapFirst), end: Int32Array.from(gapEnd) };
  return Number.isFinite(leastGapDots) ? { first, end, backwards, gaps } : { first, end, backwards };
}

/** The same rows without those before one of them. Directions stay as they are: two-way rows go on as they would have. */
export function spansFrom(spans: RowSpans, row: number): RowSpans {
  const first = spans.first.slice();
  const end = spans.end.slice();
  first.fill(0, 0, row);
  end.fill(0, 0, row);
  return { ...spans, first, end };
}

/** A blank stretch inside a row is crossed at the machine's fastest feed where that saves at least so much, s. */
const WORTH_S = 0.1;

const LONGEST_MM = 10_000;

/**
 * Time saved by crossing a blank stretch of a row from rest to rest at the machine's fastest feed, with ramps to and from the feed
 * of the row, over crossing it at that feed: `g/v − 2(v/a + (r − v²/2a)/v) − T(g − 2r)` with run-ups r, s. Never where the run-up is shorter than the ramp, because
 * the beam would come on before the head is up to speed.
 */
export function gapSavingS(gapMm: number, feedMmPerS: number, motion: Motion): number {
  const { accelerationMmPerS2: acceleration, maxFeedMmPerS, runUpMm } = motion;
  const rampMm = fullRunUpMm(feedMmPerS, acceleration);
  const usedMm = usedRunUpMm(feedMmPerS, motion);
  if (runUpMm < rampMm || gapMm <= 2 * usedMm) return 0;
  const ends = 2 * (feedMmPerS / acceleration + (usedMm - rampMm) / feedMmPerS);
  return gapMm / feedMmPerS - ends - travelTimeS(gapMm - 2 * usedMm, maxFeedMmPerS, acceleration);
}

/** Shortest blank stretch that is worth crossing at the fastest feed, mm; infinite where none is. */
export function leastGapMm(feedMmPerS: number, motion: Motion): number {
  if (gapSavingS(LONGEST_MM, feedMmPerS, motion) < WORTH_S) return Number.POSITIVE_INFINITY;
  let low = 0;
  let high = LONGEST_MM;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (gapSavingS(middle, feedMmPerS, motion) < WORTH_S) low = middle;
    else high = middle;
  }
  return high;
}

/**
 * Height of the face over its middle, mm, of a slab that is bowed along its width and domed towards its rim: parabolas, as a
 * board that dries unevenly takes to first order. The focus is set at the middle.
 */
export function faceHeightMm({ bowMm, domeMm, widthMm, heightMm }: Slab, xMm: number, yMm: number): number {
  const u = (2 * xMm) / widthMm;
  const v = (2 * yMm) / heightMm;
  return -bowMm * u * u - domeMm * (u * u + v * v);
}

/** Lowest and highest place of the face over its middle within a rectangle round a place, mm. */
export function faceRangeMm(
  slab: Slab,
  centreXMm: number,
  centreYMm: number,
  widthMm: number,
  heightMm: number,
): [number, number] {
  const xs = [-0.5, -0.25, 0, 0.25, 0.5].map((share) => centreXMm + share * widthMm);
  const ys = [-0.5, -0.25, 0, 0.25, 0.5].map((share) => centreYMm + share * heightMm);
  const heights = xs.flatMap((x) => ys.map((y) => faceHeightMm(slab, x, y)));
  return [Math.min(...heights, 0), Math.max(...heights, 0)];
}

/**
 * Time and speed of trapezoidal motion. Equations: textbook kinematics, checked against the rule of thirds in
 * `test/reference/motion.test.ts`.
 */

/** Time from rest to rest over a distance, s: `D/v + v/a`, or `2√(D/a)` where the feed is never reached. */
export function travelTimeS(distanceMm: number, feedMmPerS: number, accelerationMmPerS2: number): number {
  if (distanceMm <= 0) return 0;
  if (distanceMm >= (feedMmPerS * feedMmPerS) / accelerationMmPerS2) {
    return distanceMm / feedMmPerS + feedMmPerS / accelerationMmPerS2;
  }
  return 2 * Math.sqrt(distanceMm / accelerationMmPerS2);
}

/** Distance needed to get up to speed, `v² / (2a)`, mm. */
export function fullRunUpMm(feedMmPerS: number, accelerationMmPerS2: number): number {
  return (feedMmPerS * feedMmPerS) / (2 * accelerationMmPerS2);
}

/**
 * Least run-up of a row, however slow, mm: without any, the head would stand at the ends of the row with the beam on. An estimate: what
 * controllers blend between moves.
 */
export const LEAST_RUN_UP_MM = 0.2;

/** Run-up that rows get, mm: no longer than it takes to get up to speed, no longer than the machine's setting. */
export function usedRunUpMm(
  feedMmPerS: number,
  { runUpMm, accelerationMmPerS2 }: { readonly runUpMm: number; readonly accelerationMmPerS2: number },
): number {
  return Math.min(runUpMm, Math.max(LEAST_RUN_UP_MM, fullRunUpMm(feedMmPerS, accelerationMmPerS2)));
}

/**
 * Time to cross a stretch of a row over the time at full feed, for a stretch that starts `fromMm` after the run-up began from
 * rest; 1 once the feed is reached. With `held` power this is also the dose over the wanted dose.
 */
export function rampFactor(fromMm: number, lengthMm: number, feedMmPerS: number, accelerationMmPerS2: number): number {
  const rampMm = fullRunUpMm(feedMmPerS, accelerationMmPerS2);
  if (fromMm >= rampMm || lengthMm <= 0) return 1;
  const onRampMm = Math.min(fromMm + lengthMm, rampMm);
  const rampTimeS =
    Math.sqrt((2 * onRampMm) / accelerationMmPerS2) - Math.sqrt((2 * Math.max(0, fromMm)) / accelerationMmPerS2);
  const restMm = fromMm + lengthMm - onRampMm;
  return ((rampTimeS + restMm / feedMmPerS) * feedMmPerS) / lengthMm;
}
