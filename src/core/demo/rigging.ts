import { bargeToScene } from './barge-frame.ts';
import type { Point } from './shapes.ts';

type Line = readonly [Point, Point, number];

const THIN = 0.014;
const MIDDLE = 0.02;
const mastHead: Point = [0, 9.4, 0];
const topHead: Point = [0.16, 14.1, 0];

/** Shrouds come down to both sides, with rungs between the near ones. */
function shrouds(): Line[] {
  const lines: Line[] = [];
  for (const side of [-1.5, 1.5]) {
    for (const a of [-0.85, -0.45, -0.05]) lines.push([[0, 9.2, 0.05 * side], [a, 1.1, side], MIDDLE]);
  }
  for (let i = 1; i < 15; i++) {
    const t = i / 16;
    const at = (a: number): Point => [a * (1 - t), 1.1 + 8.1 * t, -1.5 + 1.43 * t];
    lines.push([at(-0.85), at(-0.05), 0.009]);
  }
  return lines;
}

const LINES: readonly Line[] = (
  [
    [mastHead, [5.1, 1.5, 0], MIDDLE],
    [topHead, [6.9, 2, 0], THIN],
    [topHead, [5.2, 1.5, 0], THIN],
    [topHead, [-0.9, 1.1, -1.5], THIN],
    [topHead, [-1.6, 1.1, 1.5], THIN],
    [[-5.5, 11.5, -0.34], [-6.9, 1.3, -1.3], THIN],
    [[-5.5, 11.5, -0.34], [-6.9, 1.3, 1.3], THIN],
    [[0, 9.5, 0], [-5.2, 11.1, -0.3], THIN],
    [[0, 9.3, 0], [-3, 6.95, -0.4], THIN],
    [[-6.1, 2.75, 0.2], [-5.6, 1.2, 0], MIDDLE],
    [[-6.75, 5.2, 0], [-4.4, 1.2, -0.9], THIN],
    [[-6.75, 5.2, 0], [-7.7, 1.2, 0], THIN],
    [[-8.35, 2.05, 0], [-7.9, 1.2, 0], THIN],
    [[0.16, 14.4, 0], [0.16, 14.9, 0], MIDDLE],
    // Brails across the mainsail.
    [[-0.2, 8.2, -0.12], [-5.5, 6.4, -0.12], 0.01],
    [[-0.2, 6.2, -0.12], [-5.8, 4.4, -0.12], 0.01],
    ...shrouds(),
  ] as Line[]
).map(([p, q, radius]) => [bargeToScene(p), bargeToScene(q), radius]);

const corner = (pick: (...values: number[]) => number, sign: number): Point => {
  const along = (axis: 0 | 1 | 2) => pick(...LINES.flatMap(([p, q]) => [p[axis], q[axis]])) + 0.1 * sign;
  return [along(0), along(1), along(2)];
};

/** Box around all rope. */
export const RIGGING_BOUNDS = { low: corner(Math.min, -1), high: corner(Math.max, 1) } as const;

/** Per line: one end, the way to the other, radius. Flat, as it is read for every ray. */
const NUMBERS = 7;
const ROPES = Float64Array.from(
  LINES.flatMap(([p, q, radius]) => [...p, q[0] - p[0], q[1] - p[1], q[2] - p[2], radius]),
);

/**
 * Share of a ray that rope hides, 0–1: a rope thinner than the ray's cone hides in proportion, so it never breaks into dots.
 * @param until distance along the ray (direction of length 1) beyond which rope is hidden by something else.
 * @param spread half width of the ray's cone per unit of distance.
 */
export function ropeCoverage(
  ox: number,
  oy: number,
  oz: number,
  dx: number,
  dy: number,
  dz: number,
  until: number,
  spread: number,
): number {
  let open = 1;
  for (let i = 0; i < ROPES.length; i += NUMBERS) {
    // Closest approach of the ray to the segment.
    const ex = ROPES[i + 3];
    const ey = ROPES[i + 4];
    const ez = ROPES[i + 5];
    const wx = ROPES[i] - ox;
    const wy = ROPES[i + 1] - oy;
    const wz = ROPES[i + 2] - oz;
    const radius = ROPES[i + 6];
    const ee = ex * ex + ey * ey + ez * ez;
    const de = dx * ex + dy * ey + dz * ez;
    const dw = dx * wx + dy * wy + dz * wz;
    const ew = ex * wx + ey * wy + ez * wz;
    const under = ee - de * de;
    const s = Math.min(1, Math.max(0, under < 1e-9 ? 0 : (de * dw - ew) / under));
    const t = dw + s * de;
    if (t <= 0 || t > until) continue;
    const cx = wx + s * ex - t * dx;
    const cy = wy + s * ey - t * dy;
    const cz = wz + s * ez - t * dz;
    const apart = Math.sqrt(cx * cx + cy * cy + cz * cz);
    const cone = spread * t;
    const covered = Math.min(apart + cone, radius) - Math.max(apart - cone, -radius);
    if (covered > 0) open *= 1 - Math.min(1, covered / (2 * cone));
  }
  return 1 - open;
}
