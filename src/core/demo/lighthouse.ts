import type { Body } from './body.ts';
import { roughness } from './noise.ts';
import { box, post, ramp } from './shapes.ts';

const X = 20.6;
const Z = 70;
const BASE = 3.2;
const TOP = 11.4;

/** The light itself, on the rise behind the cottage: a tapering tower, a gallery, a lantern with a cap. */
export const LIGHTHOUSE: Body = {
  low: [X - 2.4, BASE - 1, Z - 2.4],
  high: [X + 2.4, BASE + TOP + 4.2, Z + 2.4],
  distance(wx, wy, wz) {
    const x = wx - X;
    const y = wy - BASE;
    const z = wz - Z;
    const round = Math.sqrt(x * x + z * z);
    const tower = Math.max((round - 1.95 + 0.055 * y) * 0.97, y - TOP, -1 - y);
    const gallery = post(x, y, z, TOP - 0.05, TOP + 0.22, 1.75);
    const rail = Math.max(Math.abs(round - 1.62) - 0.04, Math.abs(y - TOP - 0.95) - 0.05);
    const angle = Math.atan2(z, x) / (Math.PI / 7);
    const bars = Math.max(
      Math.abs(angle - Math.round(angle)) * 0.7 - 0.04,
      Math.abs(round - 1.62) - 0.04,
      y - TOP - 0.95,
      TOP - y,
    );
    const lantern = post(x, y, z, TOP, TOP + 1.75, 0.95);
    const cap = Math.max((round - 1.2) * 0.75 + (y - TOP - 1.75) * 0.66, TOP + 1.7 - y);
    const vane = Math.min(post(x, y, z, TOP + 2.6, TOP + 3.9, 0.06), Math.hypot(x, y - TOP - 3.1, z) - 0.2);
    const slit = box(x + 0.5, y - 7.2, z + 1.5, 0.2, 0.42, 0.5);
    return Math.min(Math.max(tower, -slit), gallery, rail, bars, lantern, cap, vane) * 0.9;
  },
  relief: (x, y, z) => 0.03 * roughness(1.8 * x, 3 * y, 1.8 * z, 3),
  paint(surface, wx, wy, wz) {
    const y = wy - BASE;
    const round = Math.hypot(wx - X, wz - Z);
    if (y > TOP + 0.25 && round < 1.0 && y < TOP + 1.74) {
      const bars = Math.abs(((Math.atan2(wz - Z, wx - X) * 12) / Math.PI + 40) % 2) < 0.25;
      surface.albedo = bars ? 0.1 : 0.32;
      surface.gloss = 0.6;
      surface.sharpness = 40;
      return;
    }
    if (y > TOP - 0.1) {
      surface.albedo = 0.1;
      return;
    }
    const band = ramp(4.7, 4.75, y) * ramp(6.35, 6.3, y);
    surface.albedo =
      (0.84 + 0.08 * roughness(0.8 * wx, 0.4 * y, 0.8 * wz, 3)) * (1 - 0.68 * band) - 0.2 * ramp(1.2, 0, y);
    if (round < 1.62 - 0.055 * y) surface.albedo = 0.05;
  },
};
