import { frame, moved } from '../gl/matrix.ts';
import type { MakeSetting } from '../things/setting.ts';
import { block, plane } from '../things/solids.ts';
import { bookAt, OAK, vaseAt, WALL } from './furnish.ts';

const LEAN_RAD = (9 * Math.PI) / 180;
const DEPTH_MM = 230;
const BOARD_MM = 34;

/** Leaning against the wall on a shelf, between a vase and two books. */
export const shelf: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const [c, s] = [Math.cos(LEAN_RAD), Math.sin(LEAN_RAD)];
  const half = heightMm / 2;
  const y = half * c + thicknessMm * s;
  const z = half * s + thicknessMm * c + 1;
  const length = widthMm + 1400;
  const beside = widthMm / 2 + 100;
  const span = Math.max(widthMm + 350, heightMm * 1.5, 520);
  return {
    things: [
      {
        mesh: plane([-length, -1200, 0], [2 * length, 0, 0], [0, 2800, 0]),
        stuff: 'plaster',
        place: moved([0, 0, 0]),
        color: WALL,
        alpha: 0.8,
      },
      {
        mesh: block(length, BOARD_MM, DEPTH_MM, 2.5),
        stuff: 'board',
        place: moved([0, -BOARD_MM / 2, DEPTH_MM / 2]),
        color: OAK,
        alpha: 0.36,
      },
      ...vaseAt([-beside - 4, 0, 92], 0.5),
      ...bookAt([beside + 62, 0, 104], [212, 29, 148], 0.06, [0.19, 0.065, 0.04]),
      ...bookAt([beside + 54, 29, 100], [190, 22, 132], -0.13, [0.27, 0.25, 0.2]),
    ],
    slabPlace: frame([1, 0, 0], [0, s, c], [0, -c, s], [0, y, z]),
    sight: { target: [0, y + 22, z], distanceMm: span * 1.98, azimuthRad: 0.16, heightRad: 0.13 },
    reach: { azimuthRad: 0.75, lowRad: -0.1, highRad: 0.8 },
    window: [-0.6, 0.36, 0.72],
    ball: { centre: [0, y * 0.8, 90], radius: Math.max(widthMm / 2 + 330, heightMm * 0.8) },
  };
};
