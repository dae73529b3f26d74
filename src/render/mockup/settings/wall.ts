import { frame, moved } from '../gl/matrix.ts';
import type { MakeSetting } from '../things/setting.ts';
import { block, plane } from '../things/solids.ts';
import { bookAt, bowlAt, cupAt, OAK, vaseAt } from './furnish.ts';

/** How far its hanger holds the slab off the wall. */
const OFF_MM = 7;
const CABINET_MM = { deep: 360, tall: 640 };

/** Hung on a wall over a cabinet. */
export const wall: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const length = Math.max(1300, widthMm * 2.2);
  const top = -heightMm / 2 - Math.max(190, 0.55 * heightMm);
  const span = Math.max(widthMm * 2, heightMm * 2.6, 780);
  const side = Math.min(length / 2 - 130, widthMm / 2 + 175);
  return {
    things: [
      {
        mesh: plane([-3000, -1600, 0], [6000, 0, 0], [0, 3600, 0]),
        stuff: 'plaster',
        place: moved([0, 0, 0]),
        color: [0.6, 0.585, 0.545],
        alpha: 0.8,
      },
      {
        mesh: block(length, 26, CABINET_MM.deep, 2.5),
        stuff: 'board',
        place: moved([0, top - 13, CABINET_MM.deep / 2 + 2]),
        color: OAK,
        alpha: 0.34,
      },
      {
        mesh: block(length - 14, CABINET_MM.tall, CABINET_MM.deep - 14, 2),
        stuff: 'board',
        place: moved([0, top - 26 - CABINET_MM.tall / 2, CABINET_MM.deep / 2 - 2]),
        color: [OAK[0] * 0.9, OAK[1] * 0.88, OAK[2] * 0.86],
        alpha: 0.4,
      },
      ...vaseAt([-side, top, 130], 0.9),
      ...bookAt([side - 60, top, 150], [225, 31, 155], 0.12, [0.06, 0.085, 0.1]),
      ...bookAt([side - 66, top + 31, 148], [198, 24, 138], -0.06, [0.4, 0.33, 0.24]),
      ...cupAt([side + 118, top, 165], -0.7),
      ...bowlAt([-side + 178, top, 190]),
    ],
    slabPlace: frame([1, 0, 0], [0, 0, 1], [0, -1, 0], [0, 0, thicknessMm + OFF_MM]),
    sight: { target: [0, -heightMm * 0.19 - 18, 20], distanceMm: span * 1.7, azimuthRad: -0.14, heightRad: 0.03 },
    reach: { azimuthRad: 0.85, lowRad: -0.15, highRad: 0.7 },
    window: [0.74, 0.36, 0.57],
    ball: { centre: [0, top * 0.5, 100], radius: Math.max(length * 0.42, -top) },
  };
};
