import { frame, moved } from '../gl/matrix.ts';
import type { MakeSetting } from '../things/setting.ts';
import { block } from '../things/solids.ts';

/** On a dark bed under the machine's head. */
export const bench: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const size = Math.max(widthMm, heightMm * 1.25);
  return {
    things: [
      {
        mesh: block(9 * size, 20, 9 * size, 2),
        stuff: 'plaster',
        place: moved([0, -10, -2 * size]),
        color: [0.2, 0.195, 0.185],
        alpha: 0.5,
      },
    ],
    slabPlace: frame([1, 0, 0], [0, 1, 0], [0, 0, 1], [0, thicknessMm, 0]),
    sight: { target: [0, thicknessMm, 0], distanceMm: size * 2.55, azimuthRad: 0, heightRad: 1.02 },
    reach: { azimuthRad: Math.PI, lowRad: 0.4, highRad: 1.5 },
    window: [-0.5, 0.75, -0.42],
    ball: { centre: [0, 0, 0], radius: size * 0.85 },
  };
};
