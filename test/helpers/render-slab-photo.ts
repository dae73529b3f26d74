import { createGenerator } from '../../src/base/random/generator.ts';

/**
 * Photographs of slabs that do not exist, from outlines that are known: a flat table, a slab with bark, dark rim, light wood with
 * rings, a knot and a check, marks at the level of its face, light from one side, a pinhole camera held askew, a lens with
 * one term of distortion, sensor noise. Shares no geometry with the code under test. Lengths in mm, y downwards, linear RGB.
 */
type Pair = readonly [number, number];
type Rgb = readonly [number, number, number];

export interface SlabScene {
  readonly outline: readonly Pair[];
  /** Thickness of bark and of the dark rim under it, by the direction seen from the slab's middle. */
  readonly barkMm: (angle: number) => number;
  readonly rimMm: (angle: number) => number;
  readonly pith: Pair;
  readonly knot: { readonly at: Pair; readonly diameterMm: number } | null;
  readonly check: {
    readonly at: Pair;
    readonly lengthMm: number;
    readonly widthMm: number;
    readonly headingRad: number;
  } | null;
  /** A white card of 85.60 × 53.98 mm: its middle and turn. */
  readonly card: { readonly at: Pair; readonly turnRad: number } | null;
  /** A yellow ruler, 200 × 25 mm with a black line every 10 mm. */
  readonly ruler: { readonly at: Pair; readonly turnRad: number } | null;
  readonly table: Rgb;
  readonly wood: Rgb;
}

export interface Camera {
  readonly width: number;
  readonly height: number;
  /** Above the middle of the table, and how far it is tilted and turned. */
  readonly distanceMm: number;
  readonly tiltRad: number;
  readonly turnRad: number;
  readonly focalPx: number;
  readonly k1: number;
  /** Brightness from left to right and top to bottom changes by these shares either way. */
  readonly light: Pair;
  /** Standard deviation of the noise, codes. */
  readonly noise: number;
  readonly seed: number;
}

export const CAMERA: Camera = {
  width: 1120,
  height: 900,
  distanceMm: 900,
  tiltRad: 0.2,
  turnRad: 0.09,
  focalPx: 2300,
  k1: 0,
  light: [0.28, 0.16],
  noise: 2.5,
  seed: 5,
};

const BARK: Rgb = [0.085, 0.062, 0.045];
const RIM: Rgb = [0.15, 0.092, 0.05];
const KNOT: Rgb = [0.11, 0.058, 0.028];
const CARD: Rgb = [0.78, 0.79, 0.8];
const RULER: Rgb = [0.62, 0.5, 0.08];
const CARD_SIZE: Pair = [85.6, 53.98];
const RULER_SIZE: Pair = [200, 25];

/** Where a camera sees a point of the table, photo pixels. */
export function project(camera: Camera, [x, y]: Pair): [number, number] {
  const [ct, st, cr, sr] = turns(camera);
  const u = cr * x - sr * y;
  const v = sr * x + cr * y;
  const depth = camera.distanceMm + st * v;
  const px = (camera.focalPx * u) / depth;
  const py = (camera.focalPx * ct * v) / depth;
  const half = Math.hypot(camera.width, camera.height) / 2;
  // Division model, solved for the distorted radius by repetition.
  const straight = Math.hypot(px, py) / half;
  let r = straight;
  for (let i = 0; i < 60; i++) r = straight * (1 + camera.k1 * r * r);
  const scale = straight > 0 ? r / straight : 1;
  return [camera.width / 2 + scale * px, camera.height / 2 + scale * py];
}

/** The point of the table that a photo pixel shows. */
export function unproject(camera: Camera, [x, y]: Pair): [number, number] {
  const [ct, st, cr, sr] = turns(camera);
  const dx = x - camera.width / 2;
  const dy = y - camera.height / 2;
  const r2 = (4 * (dx * dx + dy * dy)) / (camera.width ** 2 + camera.height ** 2);
  const px = dx / (1 + camera.k1 * r2) / camera.focalPx;
  const py = dy / (1 + camera.k1 * r2) / camera.focalPx;
  const v = (camera.distanceMm * py) / (ct - st * py);
  const u = px * (camera.distanceMm + st * v);
  return [cr * u + sr * v, -sr * u + cr * v];
}

const turns = ({ tiltRad, turnRad }: Camera): [number, number, number, number] => [
  Math.cos(tiltRad),
  Math.sin(tiltRad),
  Math.cos(turnRad),
  Math.sin(turnRad),
];

/** Corners of the card or the ruler, mm, clockwise. */
export function corners(item: { at: Pair; turnRad: number }, [width, height]: Pair = CARD_SIZE): [number, number][] {
  const [c, s] = [Math.cos(item.turnRad), Math.sin(item.turnRad)];
  return [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ].map(([u, v]) => {
    const [x, y] = [(u * width) / 2, (v * height) / 2];
    return [item.at[0] + c * x - s * y, item.at[1] + s * x + c * y];
  });
}

/** Depth of a point inside the outline, mm, by looking at every edge; less than zero outside. */
export function trueDepthMm(outline: readonly Pair[], x: number, y: number): number {
  let best = Number.POSITIVE_INFINITY;
  let winding = 0;
  for (let i = 0; i < outline.length; i++) {
    const [ax, ay] = outline[i];
    const [bx, by] = outline[(i + 1) % outline.length];
    const t = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2);
    const held = Math.min(1, Math.max(0, t));
    best = Math.min(best, (ax + held * (bx - ax) - x) ** 2 + (ay + held * (by - ay) - y) ** 2);
    const side = (bx - ax) * (y - ay) - (by - ay) * (x - ax);
    if (ay <= y && by > y && side > 0) winding++;
    else if (ay > y && by <= y && side < 0) winding--;
  }
  return winding !== 0 ? Math.sqrt(best) : -Math.sqrt(best);
}

interface SlabPhoto {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8Array<ArrayBuffer>;
}

/** Photographs that were taken already, by scene and camera: several files of tests want the same. */
const taken = new WeakMap<SlabScene, Map<string, SlabPhoto>>();

export function renderSlabPhoto(scene: SlabScene, camera: Camera): SlabPhoto {
  const known = taken.get(scene) ?? new Map<string, SlabPhoto>();
  taken.set(scene, known);
  const key = JSON.stringify(camera);
  const photo = known.get(key) ?? render(scene, camera);
  known.set(key, photo);
  return photo;
}

/** Renders the photo with two samples a pixel. */
function render(scene: SlabScene, camera: Camera): SlabPhoto {
  const { width, height } = camera;
  const random = createGenerator(camera.seed);
  const depthAt = tabulateDepth(scene.outline);
  const rgba = new Uint8Array(4 * width * height);
  for (let j = 0; j < height; j++) {
    for (let i = 0; i < width; i++) {
      const sum = [0, 0, 0];
      for (const [u, v] of SAMPLES) {
        const [x, y] = unproject(camera, [i + u, j + v]);
        const color = shade(scene, x, y, depthAt(x, y));
        for (let k = 0; k < 3; k++) sum[k] += color[k] / SAMPLES.length;
      }
      const light = 1 + camera.light[0] * ((2 * i) / width - 1) + camera.light[1] * ((2 * j) / height - 1);
      const at = 4 * (j * width + i);
      for (let k = 0; k < 3; k++) {
        const linear = Math.min(1, Math.max(0, sum[k] * light));
        rgba[at + k] = Math.min(255, Math.max(0, Math.round(encode(linear) + camera.noise * random.nextNormal())));
      }
      rgba[at + 3] = 255;
    }
  }
  return { width, height, rgba };
}

const SAMPLES: readonly Pair[] = [
  [0.25, 0.25],
  [0.75, 0.75],
];

const encode = (linear: number): number =>
  255 * (linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055);

function shade(scene: SlabScene, x: number, y: number, depth: number): Rgb {
  for (const [item, size, color] of [
    [scene.card, CARD_SIZE, CARD],
    [scene.ruler, RULER_SIZE, RULER],
  ] as const) {
    if (!item) continue;
    const [c, s] = [Math.cos(item.turnRad), Math.sin(item.turnRad)];
    const u = c * (x - item.at[0]) + s * (y - item.at[1]);
    const v = -s * (x - item.at[0]) + c * (y - item.at[1]);
    if (Math.abs(u) > size[0] / 2 || Math.abs(v) > size[1] / 2) continue;
    const line = item === scene.ruler && v < 0 && Math.abs(u - 10 * Math.round(u / 10)) < 0.4;
    return line ? [0.02, 0.02, 0.02] : color;
  }
  if (depth < 0) return scaled(scene.table, 1 + 0.1 * wave(x, y, 1.7) + 0.05 * wave(x, y, 9));
  const angle = Math.atan2(y, x);
  const bark = scene.barkMm(angle);
  if (depth < bark) return scaled(BARK, 1 + 0.4 * wave(x, y, 2.1) + 0.25 * wave(y, x, 0.8));
  if (depth < bark + scene.rimMm(angle)) return scaled(RIM, 1 + 0.12 * wave(x, y, 3));
  const r = Math.hypot(x - scene.pith[0], y - scene.pith[1]) + 1.5 * wave(x, y, 40);
  const ring = (r / 3.1) % 1;
  let wood = scaled(scene.wood, 1 - 0.14 * ring * ring + 0.03 * wave(x, y, 1.1));
  const { knot, check } = scene;
  if (knot) {
    const from = Math.hypot(x - knot.at[0], (y - knot.at[1]) * 1.08);
    const inside = Math.min(1, Math.max(0, (knot.diameterMm / 2 - from) / 1.2 + 0.5));
    wood = mixed(wood, scaled(KNOT, 1 + 0.3 * Math.sin(3 * from)), inside);
  }
  if (check) {
    const [c, s] = [Math.cos(check.headingRad), Math.sin(check.headingRad)];
    const along = (2 * (c * (x - check.at[0]) + s * (y - check.at[1]))) / check.lengthMm;
    const across = Math.abs(c * (y - check.at[1]) - s * (x - check.at[0]));
    if (Math.abs(along) < 1 && across < (check.widthMm / 2) * (1 - 0.5 * along * along)) wood = [0.012, 0.009, 0.007];
  }
  return wood;
}

const scaled = (color: Rgb, by: number): Rgb => [color[0] * by, color[1] * by, color[2] * by];
const mixed = (a: Rgb, b: Rgb, share: number): Rgb => [
  a[0] + share * (b[0] - a[0]),
  a[1] + share * (b[1] - a[1]),
  a[2] + share * (b[2] - a[2]),
];
/** Something uneven, −1 … 1, of about a given size in mm. */
const wave = (x: number, y: number, size: number): number =>
  (Math.sin((x * 1.3 + y * 0.7) / size + 2 * Math.sin(y / (1.9 * size))) +
    Math.sin((y * 1.1 - x * 0.6) / size + 2 * Math.cos(x / (1.4 * size)))) /
  2;

/** Depths on a grid of 1 mm round the outline, read linearly; right to 0.01 mm near smooth edges. */
function tabulateDepth(outline: readonly Pair[]): (x: number, y: number) => number {
  const pitch = 1;
  const left = Math.min(...outline.map(([x]) => x)) - 4;
  const top = Math.min(...outline.map(([, y]) => y)) - 4;
  const columns = Math.ceil((Math.max(...outline.map(([x]) => x)) + 4 - left) / pitch) + 2;
  const rows = Math.ceil((Math.max(...outline.map(([, y]) => y)) + 4 - top) / pitch) + 2;
  const grid = new Float32Array(columns * rows);
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const depth = trueDepthMm(outline, left + i * pitch, top + j * pitch);
      // Deeper than 15 mm nothing depends on how deep; there a row is filled without looking.
      const far = Math.max(0, Math.min(columns - 1 - i, Math.floor((Math.abs(depth) - 15) / pitch)));
      grid.fill(depth, j * columns + i, j * columns + i + far + 1);
      i += far;
    }
  }
  return (x, y) => {
    const u = (x - left) / pitch;
    const v = (y - top) / pitch;
    if (!(u >= 0 && v >= 0 && u < columns - 1 && v < rows - 1)) return -10;
    const i = Math.floor(u);
    const j = Math.floor(v);
    const at = j * columns + i;
    const upper = grid[at] + (u - i) * (grid[at + 1] - grid[at]);
    const lower = grid[at + columns] + (u - i) * (grid[at + columns + 1] - grid[at + columns]);
    return upper + (v - j) * (lower - upper);
  };
}

/** A slice: an ellipse of 2a × 2b whose edge wavers by up to about 5 mm. */
export const wobblyEllipse = (a: number, b: number, points = 480): [number, number][] =>
  Array.from({ length: points }, (_, i) => {
    const t = (2 * Math.PI * i) / points;
    const r = 1 + 0.018 * Math.sin(3 * t + 0.4) + 0.012 * Math.sin(7 * t + 1) + 0.006 * Math.sin(16 * t);
    return [a * r * Math.cos(t), b * r * Math.sin(t)];
  });

/** A plank with two live edges and sawn ends. */
export function livePlank(length: number, breadth: number, points = 180): [number, number][] {
  const edge = (x: number, phase: number): number => 4 * Math.sin(x / 31 + phase) + 1.4 * Math.sin(x / 11 + 2 * phase);
  const upper: [number, number][] = [];
  const lower: [number, number][] = [];
  for (let i = 0; i <= points; i++) {
    const x = -length / 2 + (length * i) / points;
    upper.push([x, -breadth / 2 + edge(x, 0.3)]);
    lower.push([-x, breadth / 2 + edge(-x, 1.9)]);
  }
  return [...upper, ...lower];
}

export const SLICE: SlabScene = {
  outline: wobblyEllipse(142, 112),
  barkMm: (angle) => 4 + 1.2 * Math.sin(3 * angle + 1),
  rimMm: (angle) => 3.4 + 0.8 * Math.sin(5 * angle),
  pith: [12, -6],
  knot: { at: [-62, 18], diameterMm: 18 },
  check: { at: [58, -34], lengthMm: 42, widthMm: 1.1, headingRad: 0.6 },
  card: { at: [-4, 146], turnRad: 0.12 },
  ruler: null,
  table: [0.27, 0.3, 0.31],
  wood: [0.62, 0.47, 0.31],
};

export const PLANK: SlabScene = {
  ...SLICE,
  outline: livePlank(290, 170),
  barkMm: (angle) => (Math.abs(Math.sin(angle)) > 0.52 ? 5 : 0),
  rimMm: (angle) => (Math.abs(Math.sin(angle)) > 0.52 ? 3 : 0),
  pith: [0, 900],
  knot: { at: [40, 22], diameterMm: 24 },
  check: null,
  card: null,
  ruler: { at: [-10, 128], turnRad: -0.05 },
  table: [0.1, 0.12, 0.16],
};
