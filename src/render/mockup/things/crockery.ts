import type { Mesh } from '../../mesh/mesh.ts';
import { lathe, rod } from './solids.ts';

/** A cup of our own drawing, 86 mm tall and 84 mm wide, foot at y = 0: body, handle, and what is in it. */
export function cup(): { body: Mesh; handle: Mesh; coffee: Mesh } {
  return {
    body: lathe([
      [0.1, 3],
      [26, 3],
      [27.5, 0.6],
      [30, 0],
      [32, 1.2],
      [35.5, 8],
      [38.4, 24],
      [40, 46],
      [41.2, 70],
      [42, 84],
      [41.6, 85.8],
      [40.2, 86],
      [39.2, 84.4],
      [38.2, 66],
      [37, 40],
      [33, 14],
      [20, 9],
      [0.1, 8.5],
    ]),
    handle: rod(
      [
        [38, 68, 0],
        [50, 72, 0],
        [64, 66, 0],
        [69, 50, 0],
        [64, 33, 0],
        [51, 23, 0],
        [36, 22, 0],
      ],
      (share) => 5.6 - 1.2 * Math.sin(Math.PI * share),
    ),
    coffee: lathe(
      [
        [38.4, 68.6],
        [37.6, 68.1],
        [34, 68],
        [0.05, 68],
      ],
      64,
    ),
  };
}

/** A narrow-necked vase, 165 mm tall. */
export const vase = (): Mesh =>
  lathe([
    [0.1, 1],
    [30, 0.6],
    [34, 1.5],
    [43, 16],
    [50, 42],
    [51, 62],
    [45, 88],
    [31, 112],
    [19, 130],
    [15.5, 146],
    [17.5, 160],
    [20, 165],
    [18.6, 166],
    [15, 160],
    [12.6, 146],
    [12, 130],
    [0.1, 120],
  ]);

/** A shallow bowl, 150 mm wide. */
export const bowl = (): Mesh =>
  lathe([
    [0.1, 2],
    [26, 1.5],
    [29, 0],
    [33, 0.5],
    [34, 4],
    [52, 16],
    [67, 33],
    [75, 50],
    [74.6, 52],
    [72.6, 51.6],
    [63, 33],
    [48, 19],
    [25, 10],
    [0.1, 9],
  ]);

/** Dry stems that stand in a vase whose mouth is at the origin: stalks, and the heads on them. */
export function stems(): { stalks: Mesh[]; heads: Mesh[] } {
  const stalks: Mesh[] = [];
  const heads: Mesh[] = [];
  const ways: readonly (readonly [number, number, number])[] = [
    [-48, 118, 12],
    [-14, 168, -8],
    [22, 150, 8],
    [56, 108, -6],
    [4, 98, 20],
  ];
  ways.forEach(([x, y, z], i) => {
    const way = [
      [x * 0.02, -60, z * 0.02],
      [x * 0.1, 0, z * 0.1],
      [x * 0.4, y * 0.45, z * 0.4],
      [x * 0.8, y * 0.85, z * 0.8],
      [x, y, z],
    ] as const;
    stalks.push(rod(way, (share) => 1.5 - 0.6 * share, 8));
    const lean = x * 0.25;
    heads.push(
      rod(
        [
          [x, y - 2, z],
          [x + lean * 0.25, y + 12, z],
          [x + lean * 0.6, y + 27 + 3 * (i % 2), z],
          [x + lean * 0.8, y + 36 + 3 * (i % 2), z],
        ],
        (share) => 0.4 + 9.5 * Math.sin(Math.PI * Math.min(1, share * 0.92 + 0.06)) ** 0.8 * (1 - 0.25 * share),
        12,
      ),
    );
  });
  return { stalks, heads };
}
