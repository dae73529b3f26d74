import { frame, moved } from '../gl/matrix.ts';
import type { MakeSetting } from '../things/setting.ts';
import { block, sweep } from '../things/solids.ts';
import { OAK } from './furnish.ts';

/** How far the slab sinks into the groove of its foot. */
const GROOVE_MM = 7;
const FOOT_MM = 20;

/** Upright on a small wooden foot before a plain background, to be turned. */
export const stand: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const y = heightMm / 2 + FOOT_MM - GROOVE_MM;
  const size = Math.max(widthMm, heightMm);
  return {
    things: [
      {
        mesh: sweep(24 * size, 9 * size, -3 * size, 2 * size, 8 * size),
        stuff: 'plaster',
        place: moved([0, 0, 0]),
        color: [0.56, 0.535, 0.5],
        alpha: 0.8,
      },
      {
        mesh: block(0.36 * widthMm, FOOT_MM, thicknessMm + 44, 3),
        stuff: 'board',
        place: moved([0, FOOT_MM / 2, 0]),
        color: [OAK[0] * 0.5, OAK[1] * 0.44, OAK[2] * 0.4],
        alpha: 0.35,
      },
    ],
    slabPlace: frame([1, 0, 0], [0, 0, 1], [0, -1, 0], [0, y, thicknessMm / 2]),
    sight: { target: [0, y * 0.97, 0], distanceMm: size * 2.75, azimuthRad: 0, heightRad: 0.12 },
    reach: { azimuthRad: Number.POSITIVE_INFINITY, lowRad: 0.03, highRad: 1.2 },
    window: [-0.66, 0.5, 0.56],
    ball: { centre: [0, y * 0.8, 0], radius: size * 0.85 },
  };
};
