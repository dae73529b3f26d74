import { moved } from '../gl/matrix.ts';
import type { Thing } from './setting.ts';
import { block, lathe } from './solids.ts';

/** How far the head's nozzle stands over the slab, mm. */
const GAP_MM = 14;

/** A machine's head of our own drawing, its beam at the origin on the slab's face. */
export function burnHead(): Thing[] {
  const shell = [0.055, 0.052, 0.05] as const;
  return [
    {
      mesh: lathe([
        [0.1, GAP_MM],
        [3, GAP_MM],
        [5.5, GAP_MM + 4],
        [9, GAP_MM + 12],
        [9, GAP_MM + 20],
        [0.1, GAP_MM + 20],
      ]),
      stuff: 'matte',
      place: moved([0, 0, 0]),
      color: [0.3, 0.29, 0.28],
      alpha: 0.3,
      caster: null,
    },
    {
      mesh: block(34, 46, 34, 3),
      stuff: 'matte',
      place: moved([0, GAP_MM + 43, -6]),
      color: shell,
      alpha: 0.35,
      caster: null,
    },
    {
      mesh: lathe(
        [
          [0.05, 0.1],
          [0.5, 0.1],
          [0.35, GAP_MM * 0.6],
          [0.2, GAP_MM],
        ],
        10,
      ),
      stuff: 'glow',
      place: moved([0, 0, 0]),
      color: [1, 0.86, 0.62],
      alpha: 1,
      caster: null,
    },
  ];
}
