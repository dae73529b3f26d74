import { bargeBody, localA, localY } from './barge-frame.ts';
import type { Body } from './body.ts';
import { noise, roughness } from './noise.ts';
import { box, polygon, ramp } from './shapes.ts';

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
    belly: 0.5,
    middle: [-2.6, 5.6],
    reach: 4.8,
    offset: -0.12,
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
    return offset + belly * Math.max(0, 1 - r2) + 0.17 * folds + 0.1 * soft;
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
        const y = localY(wy);
        return 0.012 * noise(1.9 * a, 1.3 * y, 6) + 0.012 * ramp(0.09, 0.02, seam(a, y));
      },
      paint(surface, x, wy, z) {
        const a = localA(x, z);
        const y = localY(wy);
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

/** Mainsail, topsail, foresail and mizzen. */
export const SAIL_BODIES: readonly Body[] = SAILS.map(sailBody);
