import { Matrix, solve } from 'ml-matrix';
import { otsuThreshold } from '../../base/geometry/otsu.ts';
import {
  clockwise,
  inwardNormals,
  medianRing,
  middleMm,
  moved,
  type Point,
  type Polygon,
  perimeterMm,
  resampleOutline,
  simplifyOutline,
  smoothOutline,
  smoothRing,
} from '../../base/geometry/outline.ts';
import {
  findCrossing,
  insetOutline,
  isInside,
  largestFilled,
  maskWhere,
  traceBoundary,
} from '../../base/geometry/raster-mask.ts';
import { checkPhoto, LEAST_SIDE_PX, samplePlane, type TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { blurGaussian } from '../../image/gaussian-blur.ts';
import { type Defect, suggestDefects } from './defects.ts';
import { type LabPlanes, labPlanes } from './rectify.ts';
import { findZones, type SlabZones, type ZoneOptions } from './zones.ts';

/** All that a rectified photo tells of a slab; mm from the slab's origin, the middle of the box round it. */
export interface SlabReading {
  readonly kind: 'slab';
  readonly outline: Polygon;
  readonly zones: SlabZones;
  readonly lightWood: Polygon;
  readonly defects: readonly Defect[];
  /** The photo with its frame moved to the slab's origin: the slab's own face. */
  readonly face: TrueSizePhoto;
  readonly notes: readonly string[];
}

/**
 * Reads a slab from a rectified photo: outline, bark, rim and light wood, knots and checks. The photo's frame is moved to the
 * slab's origin first, so everything returned speaks of the same place.
 * @returns the reading, or the refusal of `findSlabOutline`. @throws RangeError as `findZones` does.
 */
export function readSlab(
  photo: TrueSizePhoto,
  options: { readonly outline?: Partial<SegmentOptions>; readonly zones?: Partial<ZoneOptions> } = {},
): SlabReading | Extract<SlabFinding, { kind: 'refused' }> {
  const found = findSlabOutline(photo, options.outline);
  if (found.kind === 'refused') return found;
  const [x, y] = middleMm(found.outline);
  const face = { ...photo, leftMm: photo.leftMm - x, topMm: photo.topMm - y };
  const outline = clockwise(moved(found.outline, -x, -y));
  const zones = findZones(face, outline, options.zones);
  const lightWood = insetOutline(zones.line, zones.woodInsetMm);
  const defects = suggestDefects(face, lightWood);
  return { kind: 'slab', outline, zones, lightWood, defects, face, notes: [...found.notes, ...zones.notes] };
}

/** Colour distances are cut here, lest dark bark outweighs light wood. */
const TOP = 30;

/** The threshold must be at least this, and so many times the table's own spread, for a slab to stand out. */
const LEAST_THRESHOLD = 3;

const LEAST_RATIO = 2.5;

/** What is thinner than twice this is cut off, pixels. */
const OPENING_PX = 2;

/** What stands out from the table. */
interface StandOut {
  /** 1 in the largest part, its holes filled; and how many pixels that is. */
  readonly mask: Uint8Array;
  readonly count: number;
  /** Colour distance of each pixel from the table, and where it was cut in two. */
  readonly distance: Float32Array;
  readonly threshold: number;
}

/**
 * Distances from the table, cut in two by Otsu's threshold, and the largest part above it; null if nothing stands out.
 * @param seen 1 where the table is believed to be. @param looked 0 where nothing counts.
 */
function standOut(
  planes: LabPlanes,
  seen: Uint8Array,
  looked: Uint8Array,
  width: number,
  height: number,
): StandOut | null {
  if (!seen.some((value, i) => value && i % 7 === 0)) return null;
  const { distance, hueDistance, spread } = distanceFromBackground(planes, seen, width, height);
  for (let i = 0; i < distance.length; i++) if (!looked[i]) distance[i] = 0;
  const threshold = otsuThreshold(
    distance.filter((_, i) => looked[i] === 1),
    TOP,
  );
  if (threshold < Math.max(LEAST_THRESHOLD, LEAST_RATIO * spread)) return null;
  const above = maskWhere(distance.length, (i) => distance[i] > threshold);
  const part = largestFilled(opened(above, width, height), width, height);
  return part && withoutShadow({ ...part, distance, threshold }, hueDistance, spread, width, height);
}

/** Distance from the table under weaker light below which a place may be its shadow, and so many times the table's own spread. */
const SHADOW_DISTANCE = 2.5;

const SHADOW_SPREADS = 3;

/** What lies all round is no shadow, which falls to one side: so much of the edge at most; and so much must be left. */
const SHADOW_ROUND = 0.75;

const SHADOW_LEAVES = 0.3;

/**
 * Takes off what hangs on the part from outside and is the table's own colour under weaker light: a shadow. It falls to one side; what
 * is so all round is a dark rim of the table's hue and stays.
 */
function withoutShadow(
  part: StandOut,
  hueDistance: Float32Array,
  spread: number,
  width: number,
  height: number,
): StandOut {
  const { mask, count, distance } = part;
  const limit = Math.max(SHADOW_DISTANCE, SHADOW_SPREADS * spread);
  const shadow = new Uint8Array(mask.length);
  const found: number[] = [];
  let [edge, shaded] = [0, 0];
  const take = (i: number) => {
    if (mask[i] === 0 || shadow[i] === 1 || !(hueDistance[i] <= limit)) return;
    shadow[i] = 1;
    found.push(i);
  };
  // What counts keeps off the picture's border, so that every dot of the part has four neighbours.
  for (let i = 0; i < mask.length; i++) {
    if (mask[i] === 0 || (mask[i - 1] && mask[i + 1] && mask[i - width] && mask[i + width])) continue;
    edge++;
    take(i);
    shaded += shadow[i];
  }
  for (let next = 0; next < found.length; next++) {
    for (const step of [-1, 1, -width, width]) take(found[next] + step);
  }
  if (found.length === 0 || shaded > SHADOW_ROUND * edge) return part;
  const rest = maskWhere(mask.length, (i) => mask[i] === 1 && shadow[i] === 0);
  const left = largestFilled(opened(rest, width, height), width, height);
  if (!left || left.count < SHADOW_LEAVES * count) return part;
  for (const i of found) distance[i] = Math.min(distance[i], hueDistance[i]);
  return { ...part, ...left };
}

/** The mask without what is thinner than twice the opening; what stays keeps its edge. */
function opened(mask: Uint8Array, width: number, height: number): Uint8Array {
  const solid = largestFilled(mask, width, height)?.mask ?? mask;
  const depth = maskDepth(solid, width, height);
  const outer = maskWhere(depth.length, (i) => depth[i] <= OPENING_PX);
  const beside = maskDepth(outer, width, height);
  return maskWhere(solid.length, (i) => solid[i] === 1 && beside[i] <= OPENING_PX + 1);
}

/** Reach of the profiles either side of the line and their step, pixels. */
const REACH_PX = 5;

const STEP_PX = 0.25;

/** From here outwards and inwards the profile counts as table and as slab. */
const OUTER_PX = 3.5;

const INNER_PX = 2;

/** Blur of the profiles along the line, and of the shifts found, pixels. */
const ALONG_PX = 1.5;

/** Furthest that a point is moved. */
const FURTHEST_PX = 2.5;

/**
 * A traced line moved to where the field is half-way between its levels on either side. A threshold over the whole picture lies
 * nearer the table than half-way where the slab is dark, and a blurred edge is then found too far out; half-way is
 * where the edge was before the blur. Profiles are read along the normals and blurred along the line; shifts go through a median.
 * @param traced clockwise, in cells (`traceBoundary`); at least a few dozen cells round.
 * @returns points about one pixel apart.
 */
export function refineEdge(traced: Polygon, field: Float32Array, width: number, height: number): Polygon {
  let line = traced;
  // A second round starts near the edge, so that the two ends of its profiles are clear of the blur.
  for (let round = 0; round < 2; round++)
    line = shiftToEdge(smoothOutline(resampleOutline(line, 1), 2.5), field, width, height);
  return line;
}

function shiftToEdge(line: Polygon, field: Float32Array, width: number, height: number): Polygon {
  const normals = inwardNormals(line);
  const count = 2 * Math.round(REACH_PX / STEP_PX) + 1;
  const stepPx = Math.hypot(line[1][0] - line[0][0], line[1][1] - line[0][1]) || 1;
  const profiles = Array.from({ length: count }, (_, k) => {
    const depth = (k - (count - 1) / 2) * STEP_PX;
    const raw = line.map(([x, y], i) =>
      samplePlane(field, width, height, x + depth * normals[i][0], y + depth * normals[i][1]),
    );
    return smoothRing(raw, ALONG_PX / stepPx);
  });
  const shifts = Float64Array.from(line, (_, i) => halfWay(Float64Array.from(profiles, (profile) => profile[i])));
  const steady = smoothRing(medianRing(shifts, Math.ceil(3 / stepPx)), 2 / stepPx);
  return line.map(([x, y], i): Point => {
    const shift = Number.isNaN(steady[i]) ? 0 : steady[i];
    return [x + shift * normals[i][0], y + shift * normals[i][1]];
  });
}

/** Depth nearest to 0 at which a profile (outside first) rises through the middle of its two ends, pixels; NaN if there is none. */
function halfWay(profile: Float64Array): number {
  const middle = (profile.length - 1) / 2;
  const depth = (k: number): number => (k - middle) * STEP_PX;
  let outer = 0;
  let inner = 0;
  let outerCount = 0;
  let innerCount = 0;
  for (let k = 0; k < profile.length; k++) {
    if (depth(k) <= -OUTER_PX) {
      outer += profile[k];
      outerCount++;
    } else if (depth(k) >= INNER_PX) {
      inner += profile[k];
      innerCount++;
    }
  }
  const level = (outer / outerCount + inner / innerCount) / 2;
  let best = Number.NaN;
  for (let k = 0; k < profile.length - 1; k++) {
    if (!(profile[k] < level && profile[k + 1] >= level)) continue;
    const at = depth(k) + (STEP_PX * (level - profile[k])) / (profile[k + 1] - profile[k]);
    if (!(Math.abs(at) >= Math.abs(best))) best = at;
  }
  return Math.abs(best) <= FURTHEST_PX ? best : Number.NaN;
}

const PLANES = ['L', 'a', 'b'] as const;

/** 1, x, y, x², xy, y² over the picture, −1 … 1. */
const TERMS = 6;

/** About so many pixels are looked at for the fit, evenly spread. */
const PLACES = 4000;

/** Rounds of the fit. In all but the last two this share of the pixels is kept, the nearest. */
const ROUNDS = 10;

const KEPT = 0.6;

/** In the last rounds what is nearer than so many times the median distance is kept. */
const FURTHEST = 3;

/**
 * How far each pixel's colour is from that of the table there, as a distance in L*a*b*. The table is taken as one colour under a light
 * that changes slowly: per channel a polynomial of the second degree over the picture, fitted to the pixels in `seen` by least trimmed
 * squares (the nearest 60 % are fitted again and again, in the end all within three times the median distance), so that a slab that
 * runs off the picture, a hand or a ruler do not count.
 * Source: P. J. Rousseeuw, K. Van Driessen, "Computing LTS regression for large data sets", Data Min. Knowl. Discov. 12, 2006.
 * @param seen 1 where the table is believed to be.
 * @returns distances, those from the table under whatever weaker light, and the median one in `seen`.
 */
function distanceFromBackground(
  planes: LabPlanes,
  seen: Uint8Array,
  width: number,
  height: number,
): { readonly distance: Float32Array; readonly hueDistance: Float32Array; readonly spread: number } {
  const cells = sampled(seen, width, height);
  const terms = cells.map((cell) => termsAt(cell, width, height));
  let used = cells.map((_, i) => i);
  let fits: number[][] = [];
  let spread = 0;
  for (let round = 0; round < ROUNDS; round++) {
    fits = PLANES.map((plane) =>
      leastSquares(
        used.map((i) => terms[i]),
        used.map((i) => planes[plane][cells[i]]),
      ),
    );
    const off = cells.map((cell, i) =>
      Math.hypot(...PLANES.map((plane, k) => planes[plane][cell] - evaluate(fits[k], terms[i]))),
    );
    const sorted = Float64Array.from(off).sort();
    spread = sorted[sorted.length >> 1];
    const early = round < ROUNDS - 2;
    const limit = early ? sorted[Math.floor(KEPT * sorted.length)] : Math.max(FURTHEST * spread, LEAST_SPREAD);
    used = cells.map((_, i) => i).filter((i) => off[i] <= limit);
  }
  return { ...distances(planes, fits, width, height), spread };
}

/** Distances that count as nothing, whatever the spread. */
const LEAST_SPREAD = 1.5;

function sampled(seen: Uint8Array, width: number, height: number): number[] {
  let count = 0;
  for (let i = 0; i < seen.length; i++) count += seen[i];
  const step = Math.max(1, Math.floor(Math.sqrt(count / PLACES)));
  const cells: number[] = [];
  for (let y = step >> 1; y < height; y += step) {
    for (let x = step >> 1; x < width; x += step) if (seen[y * width + x]) cells.push(y * width + x);
  }
  if (cells.length < 4 * TERMS) throw new RangeError('too little of the table is seen round the slab');
  return cells;
}

function termsAt(cell: number, width: number, height: number): number[] {
  const x = ((cell % width) + 0.5) / (width / 2) - 1;
  const y = (Math.floor(cell / width) + 0.5) / (height / 2) - 1;
  return [1, x, y, x * x, x * y, y * y];
}

const evaluate = (fit: readonly number[], terms: readonly number[]): number =>
  fit.reduce((sum, value, k) => sum + value * terms[k], 0);

/** Normal equations with a touch of damping on all but the constant, so that pixels on one side only do not run wild. */
function leastSquares(rows: readonly number[][], values: readonly number[]): number[] {
  const normal = Matrix.zeros(TERMS, TERMS);
  const right = Matrix.zeros(TERMS, 1);
  rows.forEach((row, i) => {
    for (let p = 0; p < TERMS; p++) {
      right.set(p, 0, right.get(p, 0) + row[p] * values[i]);
      for (let q = 0; q < TERMS; q++) normal.set(p, q, normal.get(p, q) + row[p] * row[q]);
    }
  });
  for (let p = 1; p < TERMS; p++) normal.set(p, p, normal.get(p, p) + 1e-4 * rows.length);
  return solve(normal, right).to1DArray();
}

/** Cube root of the weakest light that counts as shade: an eighth of the full one. */
const DEEPEST = 0.5;

/**
 * L* + 16, a* and b* all fall with the cube root of the light (CIE 15:2018, above its straight foot), so that a colour under weaker light
 * lies on the line from there to black.
 */
function distances(planes: LabPlanes, fits: readonly number[][], width: number, height: number) {
  const distance = new Float32Array(width * height);
  const hueDistance = new Float32Array(width * height);
  const [L, a, b] = fits;
  for (let j = 0; j < height; j++) {
    const y = (j + 0.5) / (height / 2) - 1;
    const rows = [L, a, b].map((f) => [f[0] + f[2] * y + f[5] * y * y, f[1] + f[4] * y, f[3]]);
    const [rowL, rowA, rowB] = rows;
    for (let i = 0; i < width; i++) {
      const x = (i + 0.5) / (width / 2) - 1;
      const at = j * width + i;
      const lit = rowL[0] + x * (rowL[1] + x * rowL[2]) + 16;
      const tableA = rowA[0] + x * (rowA[1] + x * rowA[2]);
      const tableB = rowB[0] + x * (rowB[1] + x * rowB[2]);
      const seen = planes.L[at] + 16;
      const seenA = planes.a[at];
      const seenB = planes.b[at];
      distance[at] = Math.sqrt((seen - lit) ** 2 + (seenA - tableA) ** 2 + (seenB - tableB) ** 2);
      const along = (seen * lit + seenA * tableA + seenB * tableB) / (lit * lit + tableA * tableA + tableB * tableB);
      const share = Math.min(1, Math.max(DEEPEST, along));
      hueDistance[at] = Math.sqrt(
        (seen - share * lit) ** 2 + (seenA - share * tableA) ** 2 + (seenB - share * tableB) ** 2,
      );
    }
  }
  return { distance, hueDistance };
}

type SlabRefusal = 'too-few-pixels' | 'nothing-stands-out' | 'fills-the-photo' | 'too-small';

type SlabFinding =
  | {
      readonly kind: 'found';
      /** Clockwise, mm, in the photo's own frame. */
      readonly outline: Polygon;
      /** Share of what the photo shows that the slab takes. */
      readonly share: number;
      /** Sentences for the maker about what to look at. */
      readonly notes: readonly string[];
    }
  | { readonly kind: 'refused'; readonly reason: SlabRefusal; readonly message: string };

interface SegmentOptions {
  /** Standard deviation of the smoothing along the outline, mm. */
  readonly smoothMm: number;
  /** How far the thinned-out outline may lie from the full one, mm. */
  readonly toleranceMm: number;
  /** Areas to look away from (the card, the ruler), mm in the photo's frame. */
  readonly ignore: readonly Polygon[];
}

const SEGMENT_DEFAULTS: SegmentOptions = { smoothMm: 0.6, toleranceMm: 0.05, ignore: [] };

/** Blur against noise, pixels. */
const BLUR_PX = 1;

/** Pixels along the photo's edge that are looked away from, and how far in the table is taken to reach, share of the short side. */
const RIM_PX = 4;

const BAND = 0.06;

const LEAST_SHARE = 0.01;

/** Share of the slab's own line that lies along the photo's edge at which it counts as filling the photo, and as running off it. */
const FILLS = 0.5;

const RUNS_OFF = 0.01;

/**
 * Finds the slab in a rectified photo as the largest thing that differs in colour from the table. The table's colour is modelled from the
 * photo's border (`distanceFromBackground`), then again from all that was found not to be slab; the distance in L*a*b* is cut in
 * two by Otsu's threshold; the largest part, its holes filled, is traced and its edge refined below the pixel. What
 * hangs on it that is the table's own colour under weaker light is its shadow and is left out. A table of the bark's own colour hides the bark.
 * Accuracy: within 0.2 mm on 95 % of the length in photos rendered from known outlines at 0.4 mm a pixel; tested to 0.5 mm.
 * Test: test/unit/slab-from-photo.test.ts, test/unit/slab-segment.test.ts.
 * @throws RangeError if the photo's bytes are not as many as its size says.
 */
export function findSlabOutline(photo: TrueSizePhoto, options: Partial<SegmentOptions> = {}): SlabFinding {
  const { smoothMm, toleranceMm, ignore } = { ...SEGMENT_DEFAULTS, ...options };
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  if (width < LEAST_SIDE_PX || height < LEAST_SIDE_PX) {
    return refuse(
      'too-few-pixels',
      `the photograph is ${width} × ${height} pixels; at least ${LEAST_SIDE_PX} a side are needed`,
    );
  }
  checkPhoto(photo);
  const visible = maskWhere(width * height, (i) => photo.rgba[4 * i + 3] >= 128);
  const depth = maskDepth(visible, width, height);
  const looked = maskWhere(depth.length, (i) => depth[i] > RIM_PX);
  lookAway(looked, photo, ignore);
  const planes = labPlanes(photo);
  const cover = blurGaussian(new Float32Array(visible), width, height, BLUR_PX);
  for (const plane of [planes.L, planes.a, planes.b]) {
    const blurred = blurGaussian(
      plane.map((value, i) => (visible[i] ? value : 0)),
      width,
      height,
      BLUR_PX,
    );
    for (let i = 0; i < plane.length; i++) plane[i] = visible[i] ? blurred[i] / cover[i] : 0;
  }

  const band = RIM_PX + Math.max(4, BAND * Math.min(width, height));
  let seen = maskWhere(depth.length, (i) => looked[i] === 1 && depth[i] <= band);
  let round = standOut(planes, seen, looked, width, height);
  if (round) {
    const beside = maskDepth(
      round.mask.map((value) => 1 - value),
      width,
      height,
    );
    seen = maskWhere(depth.length, (i) => looked[i] === 1 && beside[i] > 2 * RIM_PX);
    round = standOut(planes, seen, looked, width, height) ?? round;
  }
  if (!round) {
    return refuse(
      'nothing-stands-out',
      'nothing in the photograph stands out from what lies along its edge: leave a rim of table round the slab, and choose a table of another colour than its bark',
    );
  }
  const traced = traceBoundary(round.mask, round.distance, width, height, round.threshold);
  let shown = 0;
  let alongEdge = 0;
  for (let i = 0; i < visible.length; i++) {
    if (visible[i]) shown++;
    if (depth[i] === RIM_PX + 1 && round.mask[i]) alongEdge++;
  }
  const share = round.count / shown;
  const onEdge = alongEdge / perimeterMm(traced);
  if (onEdge > FILLS) {
    return refuse(
      'fills-the-photo',
      'what stands out lies along the edge of the photograph: step back until the table shows all round the slab',
    );
  }
  if (share < LEAST_SHARE) {
    const percent = (100 * share).toFixed(1);
    return refuse(
      'too-small',
      `the largest thing in the photograph takes up only ${percent} % of it: come closer to the slab`,
    );
  }

  const toMm = ([x, y]: Point): Point => [x * mmPerPixel, y * mmPerPixel];
  const smooth = smoothOutline(refineEdge(traced, round.distance, width, height).map(toMm), smoothMm);
  const simple = [simplifyOutline(smooth, toleranceMm), smooth, traced.map(toMm)].find((line) => !findCrossing(line));
  if (!simple) return refuse('nothing-stands-out', 'the edge of the slab cannot be told from the table');
  const notes =
    onEdge > RUNS_OFF
      ? ['The slab runs off the photograph; there the outline follows its edge: draw it with the handles.']
      : [];
  return { kind: 'found', outline: moved(simple, leftMm, topMm), share, notes };
}

const refuse = (reason: SlabRefusal, message: string): SlabFinding => ({ kind: 'refused', reason, message });

function lookAway(looked: Uint8Array, photo: TrueSizePhoto, areas: readonly Polygon[]): void {
  const { width, mmPerPixel, leftMm, topMm } = photo;
  if (areas.length === 0) return;
  for (let i = 0; i < looked.length; i++) {
    const x = leftMm + ((i % width) + 0.5) * mmPerPixel;
    const y = topMm + (Math.floor(i / width) + 0.5) * mmPerPixel;
    if (areas.some((area) => isInside(area, [x, y]))) looked[i] = 0;
  }
}

/**
 * How many steps (along sides) each cell of a mask is away from the nearest cell that is 0 or from beyond the grid: 0 for cells that
 * are 0 themselves, 1 for cells at the edge. Row-major.
 */
export function maskDepth(mask: Uint8Array, width: number, height: number): Int32Array {
  const depth = new Int32Array(mask.length);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      depth[at] = 1 + Math.min(x > 0 ? depth[at - 1] : 0, y > 0 ? depth[at - width] : 0);
    }
  }
  for (let y = height - 1; y >= 0; y--) {
    for (let x = width - 1; x >= 0; x--) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      const right = x < width - 1 ? depth[at + 1] : 0;
      const below = y < height - 1 ? depth[at + width] : 0;
      depth[at] = Math.min(depth[at], 1 + right, 1 + below);
    }
  }
  return depth;
}
