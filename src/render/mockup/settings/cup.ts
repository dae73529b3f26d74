import { frame, moved } from '../gl/matrix.ts';
import type { MakeSetting } from '../things/setting.ts';
import { block } from '../things/solids.ts';
import { cupAt, OAK } from './furnish.ts';

const TURN_RAD = 0.1;

/** Lying on a table beside a cup, which tells how large it is. */
export const cupSetting: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const [c, s] = [Math.cos(TURN_RAD), Math.sin(TURN_RAD)];
  const span = Math.max(widthMm + 190, heightMm * 1.5, 330);
  return {
    things: [
      {
        mesh: block(4200, 40, 3400, 3),
        stuff: 'board',
        place: moved([0, -20, -600]),
        color: [OAK[0] * 1.02, OAK[1] * 1.04, OAK[2] * 1.1],
        alpha: 0.3,
        boardMm: 128,
      },
      ...cupAt([widthMm / 2 + 66, 0, -heightMm * 0.17], -0.55),
    ],
    slabPlace: frame([c, 0, -s], [0, 1, 0], [s, 0, c], [0, thicknessMm, 0]),
    sight: { target: [40, thicknessMm, -4], distanceMm: span * 1.86, azimuthRad: -0.06, heightRad: 0.86 },
    reach: { azimuthRad: Math.PI, lowRad: 0.42, highRad: 1.5 },
    window: [-0.72, 0.6, 0.34],
    ball: { centre: [30, 20, 0], radius: Math.max(widthMm, heightMm) * 0.5 + 170 },
  };
};
