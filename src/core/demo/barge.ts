import type { Body } from './body.ts';
import { noise, roughness } from './noise.ts';
import { box, mix, type Point, polygon, ramp, rod } from './shapes.ts';

/** Where the foot of the mast meets the water, how the barge is turned (bow right and a little towards us), and its size. */
export const BARGE = { x: -5.9, z: 46, turnRad: -0.2, scale: 0.92 } as const;
const COS = Math.cos(BARGE.turnRad) / BARGE.scale;
const SIN = Math.sin(BARGE.turnRad) / BARGE.scale;
const localA = (x: number, z: number): number => COS * (x - BARGE.x) + SIN * (z - BARGE.z);
const localC = (x: number, z: number): number => -SIN * (x - BARGE.x) + COS * (z - BARGE.z);

/** From the barge's own axes (a to the bow, y up, c away from us) to the scene. */
export function bargeToScene([a, y, c]: Point): Point {
  const s = BARGE.scale * BARGE.scale;
  return [BARGE.x + s * (COS * a - SIN * c), BARGE.scale * y, BARGE.z + s * (SIN * a + COS * c)];
}

type Distance = (a: number, y: number, c: number) => number;

function bargeBody(low: Point, high: Point, distance: Distance, rest: Pick<Body, 'paint' | 'relief'>): Body {
  const corners = [low, high, [low[0], low[1], high[2]], [high[0], high[1], low[2]]].map((p) =>
    bargeToScene(p as Point),
  );
  const extreme = (axis: number, pick: (...values: number[]) => number) => pick(...corners.map((p) => p[axis]));
  return {
    low: [extreme(0, Math.min), extreme(1, Math.min), extreme(2, Math.min)],
    high: [extreme(0, Math.max), extreme(1, Math.max), extreme(2, Math.max)],
    distance: (x, y, z) => BARGE.scale * distance(localA(x, z), y / BARGE.scale, localC(x, z)),
    ...rest,
  };
}

const sheer = (a: number): number => 1.02 + 0.011 * (a + 1.4) * (a + 1.4);

function hull(a: number, y: number, c: number): number {
  const s = (a + 1.2) / 6.6;
  const beam = 1.6 * (1 - Math.abs(s) ** 4) * mix(0.86, 1, ramp(-0.4, 1, y));
  const side = (Math.abs(c) - beam) * 0.7;
  const deck = y - sheer(a) + (Math.abs(c) < beam - 0.14 ? 0.25 : 0);
  return Math.max(side, deck * 0.8, -0.6 - y);
}

function fittings(a: number, y: number, c: number): number {
  const cabin = box(a + 4.7, y - 1.2, c, 0.9, 0.32, 0.7);
  const hatch = box(a + 1.9, y - 1.05, c, 1.2, 0.16, 0.8);
  const foreHatch = box(a - 2.2, y - 1.05, c, 0.7, 0.14, 0.6);
  const fan = Math.max(Math.hypot(a + 0.1, y - 0.95) - 1.75, y - 1.05, -0.5 - (a + 0.1) * 0.4 - (1 - y) * 0.9);
  const board = Math.max(fan, Math.abs(c + 1.7) - 0.05, -y - 0.2);
  const rudder = box(a + 7.9, y - 0.4, c, 0.3, 0.75, 0.06);
  const skipper = Math.min(
    rod(a, y, c, [-6.5, 1, 0.1], [-6.5, 2.05, 0.1], 0.2),
    Math.hypot(a + 6.5, y - 2.42, c - 0.1) - 0.14,
  );
  return Math.min(cabin, hatch, foreHatch, board, rudder, skipper);
}

const HULL = bargeBody([-8.3, -0.3, -1.9], [5.6, 2.7, 1.9], (a, y, c) => Math.min(hull(a, y, c), fittings(a, y, c)), {
  relief: (x, y, z) => 0.02 * noise(0.6 * x, 9 * y, 0.6 * z),
  paint(surface, x, wy, z) {
    const a = localA(x, z);
    const y = wy / BARGE.scale;
    const below = sheer(a) - y;
    const strake = below > 0.12 && below < 0.24 && hull(a, y, localC(x, z)) < 0.03;
    const wet = ramp(0.35, 0.1, y);
    surface.albedo = strake ? 0.55 : mix(0.05 + 0.03 * roughness(1.5 * x, 6 * y, z, 3), 0.025, wet);
    if (y > sheer(a) - 0.1) surface.albedo = 0.13;
    surface.gloss = 0.12 + 0.3 * wet;
    surface.sharpness = 18;
  },
});

/** The spars, ends in barge axes, radius last. */
const SPARS: readonly (readonly [Point, Point, number])[] = [
  [[0, 0.9, 0], [0, 9.7, 0], 0.14],
  [[0.16, 8.9, 0], [0.16, 14.4, 0], 0.075],
  [[-0.2, 1.9, -0.34], [-5.5, 11.55, -0.34], 0.1],
  [[-6.75, 1, 0], [-6.75, 5.3, 0], 0.08],
  [[4.9, 1.4, 0], [7, 2, 0], 0.08],
  [[-6.8, 2, -0.2], [-8.2, 5.6, -0.2], 0.05],
];

const SPAR_BODY = bargeBody(
  [-8.4, 0.8, -0.5],
  [7.1, 14.6, 0.3],
  (a, y, c) => {
    let d = Number.POSITIVE_INFINITY;
    for (const [p, q, radius] of SPARS) d = Math.min(d, rod(a, y, c, p, q, radius));
    return d;
  },
  {
    paint(surface, x, y, z) {
      surface.albedo = 0.26 + 0.1 * noise(2 * x, 0.7 * y, 2 * z);
      surface.gloss = 0.15;
      surface.sharpness = 20;
    },
  },
);

interface Sail {
  readonly corners: readonly number[];
  /** How far the wind pushes its middle away from us, and where the middle is. */
  readonly belly: number;
  readonly middle: readonly [number, number];
  readonly reach: number;
  readonly offset: number;
  /** Direction of the seams: the slope of their normal. */
  readonly seamsRad: number;
}

const SAILS: readonly Sail[] = [
  {
    corners: [-0.2, 2.15, -0.2, 9.35, -2.8, 10.12, -5.35, 11.3, -5.55, 7.2, -6.1, 2.75, -3, 2.05],
    belly: 1.0,
    middle: [-2.6, 5.6],
    reach: 4.8,
    offset: -0.1,
    seamsRad: 0.08,
  },
  {
    corners: [0.02, 9.75, 0.02, 13.9, -5.1, 11.6, -2.6, 10.45],
    belly: 0.35,
    middle: [-1.4, 11.3],
    reach: 3,
    offset: 0,
    seamsRad: -0.5,
  },
  {
    corners: [0.35, 9.1, 0.75, 5.4, 0.55, 2.1, 2.6, 1.75, 5, 1.75, 2.75, 5.2],
    belly: 0.6,
    middle: [1.7, 3.9],
    reach: 3.4,
    offset: 0,
    seamsRad: 0.62,
  },
  {
    corners: [-6.9, 1.9, -6.9, 4.75, -8.15, 5.45, -8.35, 2.05],
    belly: 0.2,
    middle: [-7.6, 3.5],
    reach: 1.6,
    offset: 0,
    seamsRad: 0.1,
  },
];

function sailBody(sail: Sail): Body {
  const { corners, belly, middle, reach, offset, seamsRad } = sail;
  const as = corners.filter((_, i) => i % 2 === 0);
  const ys = corners.filter((_, i) => i % 2 === 1);
  const sheet = (a: number, y: number): number => {
    const r2 = ((a - middle[0]) ** 2 + (y - middle[1]) ** 2) / (reach * reach);
    const folds = Math.sin(1.5 * a + 1.1 * y + 1.6 * noise(0.5 * a, 0.4 * y, 4)) * noise(0.35 * a, 0.28 * y, 8);
    const soft = noise(0.9 * a + 0.5 * y, 0.3 * y, 2);
    return offset + belly * Math.max(0, 1 - r2) + 0.1 * folds + 0.05 * soft;
  };
  const seam = (a: number, y: number): number => {
    const across = (Math.cos(seamsRad) * a + Math.sin(seamsRad) * y) / 0.62;
    return Math.abs(across - Math.round(across)) * 0.62;
  };
  return bargeBody(
    [Math.min(...as) - 0.1, Math.min(...ys) - 0.1, offset - 0.35],
    [Math.max(...as) + 0.1, Math.max(...ys) + 0.1, offset + belly + 0.35],
    (a, y, c) => Math.max(polygon(a, y, corners), Math.abs(c - sheet(a, y)) - 0.025) * 0.75,
    {
      relief: (x, wy, z) => {
        const a = localA(x, z);
        const y = wy / BARGE.scale;
        return 0.012 * noise(1.9 * a, 1.3 * y, 6) + 0.012 * ramp(0.09, 0.02, seam(a, y));
      },
      paint(surface, x, wy, z) {
        const a = localA(x, z);
        const y = wy / BARGE.scale;
        const hem = ramp(0.16, 0.1, -polygon(a, y, corners));
        const stain = ramp(0.1, 0.5, roughness(0.5 * a, 0.7 * y, 3, 4)) * ramp(middle[1] + 2, middle[1] - 4, y);
        const patch = box(a + 3.9, y - 4.6, 0, 0.5, 0.42, 1) < 0 ? 0.05 : 0;
        surface.albedo =
          0.8 +
          0.05 * roughness(0.8 * a, 0.5 * y, 1, 3) -
          0.13 * ramp(0.05, 0.015, seam(a, y)) -
          0.07 * hem -
          0.12 * stain -
          patch;
        surface.through = 0.3;
      },
    },
  );
}

/** The sailing barge: dark hull with a pale strake, spars, four pale sails. */
export const BARGE_BODIES: readonly Body[] = [HULL, SPAR_BODY, ...SAILS.map(sailBody)];
