import { bargeBody, localA, localC, localY } from './barge-frame.ts';
import type { Body } from './body.ts';
import { noise, roughness } from './noise.ts';
import { SAIL_BODIES } from './sails.ts';
import { box, mix, type Point, ramp, rod } from './shapes.ts';

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
    const y = localY(wy);
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

/** The sailing barge: dark hull with a pale strake, spars, four pale sails. */
export const BARGE_BODIES: readonly Body[] = [HULL, SPAR_BODY, ...SAIL_BODIES];
