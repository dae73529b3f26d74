import { type Matrix, moved, multiply, turned, type Vector } from '../gl/matrix.ts';
import { bowl, cup, stems, vase } from '../things/crockery.ts';
import type { Thing } from '../things/setting.ts';
import { block } from '../things/solids.ts';

/** Linear rgb of what stands about. Estimates by eye. */
const STONEWARE: Vector = [0.62, 0.57, 0.49];
const COFFEE: Vector = [0.022, 0.012, 0.007];
const INK: Vector = [0.055, 0.07, 0.075];
const STALK: Vector = [0.3, 0.22, 0.12];
const HEAD: Vector = [0.36, 0.26, 0.155];
const PAPER: Vector = [0.72, 0.66, 0.55];
export const OAK: Vector = [0.4, 0.255, 0.135];
export const WALL: Vector = [0.66, 0.625, 0.57];

const standing = (at: Vector, turnRad = 0): Matrix => turned(turnRad, at);

/** A cup of coffee, its handle turned. */
export function cupAt(at: Vector, turnRad: number): Thing[] {
  const { body, handle, coffee } = cup();
  const place = standing(at, turnRad);
  return [
    { mesh: body, stuff: 'glaze', place, color: STONEWARE, alpha: 0.13 },
    { mesh: handle, stuff: 'glaze', place, color: STONEWARE, alpha: 0.13 },
    { mesh: coffee, stuff: 'liquid', place, color: COFFEE, alpha: 0.03 },
  ];
}

export function vaseAt(at: Vector, turnRad: number, withStems = true): Thing[] {
  const things: Thing[] = [{ mesh: vase(), stuff: 'matte', place: standing(at, turnRad), color: INK, alpha: 0.42 }];
  if (withStems) {
    const { stalks, heads } = stems();
    const place = standing([at[0], at[1] + 160, at[2]], turnRad);
    for (const mesh of stalks) things.push({ mesh, stuff: 'matte', place, color: STALK, alpha: 0.6 });
    for (const mesh of heads) things.push({ mesh, stuff: 'matte', place, color: HEAD, alpha: 0.8 });
  }
  return things;
}

export const bowlAt = (at: Vector): Thing[] => [
  { mesh: bowl(), stuff: 'glaze', place: standing(at), color: [0.4, 0.42, 0.38], alpha: 0.2 },
];

/** A book lying down: cover boards round a block of pages. */
export function bookAt(at: Vector, size: Vector, turnRad: number, color: Vector): Thing[] {
  const [width, height, depth] = size;
  const place = standing(at, turnRad);
  const on = (x: number, y: number, z: number): Matrix => multiply(place, moved([x, y, z]));
  const board = 2.6;
  return [
    {
      mesh: block(width, board, depth, 0.8),
      stuff: 'matte',
      place: on(0, board / 2, 0),
      color,
      alpha: 0.55,
      caster: null,
    },
    {
      mesh: block(width, board, depth, 0.8),
      stuff: 'matte',
      place: on(0, height - board / 2, 0),
      color,
      alpha: 0.55,
      caster: null,
    },
    {
      mesh: block(width - 0.6, height - 1, 3.4, 1.6),
      stuff: 'matte',
      place: on(0, height / 2, -depth / 2 + 1.2),
      color,
      alpha: 0.55,
      caster: null,
    },
    {
      mesh: block(width - 7, height - 2 * board, depth - 6, 0.4),
      stuff: 'pages',
      place: on(0, height / 2, 0),
      color: PAPER,
      alpha: 0.8,
      caster: block(width - 11, height - 5, depth - 10, 0.4),
    },
  ];
}
