import { frame, type Matrix, moved, multiply, turned, type Vector } from '../../engine/matrix.ts';
import type { Mesh } from '../../mesh/outline.ts';
import { block, lathe, type MakeSetting, plane, rod, type Thing } from '../things/solids.ts';

/** Linear rgb of what stands about. Estimates by eye. */
const STONEWARE: Vector = [0.62, 0.57, 0.49];

const COFFEE: Vector = [0.022, 0.012, 0.007];

const INK: Vector = [0.055, 0.07, 0.075];

const STALK: Vector = [0.3, 0.22, 0.12];

const HEAD: Vector = [0.36, 0.26, 0.155];

const PAPER: Vector = [0.72, 0.66, 0.55];

export const OAK: Vector = [0.4, 0.255, 0.135];

const WALL: Vector = [0.66, 0.625, 0.57];

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

function vaseAt(at: Vector, turnRad: number): Thing[] {
  const { stalks, heads } = stems();
  const place = standing([at[0], at[1] + 160, at[2]], turnRad);
  return [
    { mesh: vase(), stuff: 'matte', place: standing(at, turnRad), color: INK, alpha: 0.42 },
    ...stalks.map((mesh): Thing => ({ mesh, stuff: 'matte', place, color: STALK, alpha: 0.6 })),
    ...heads.map((mesh): Thing => ({ mesh, stuff: 'matte', place, color: HEAD, alpha: 0.8 })),
  ];
}

const bowlAt = (at: Vector): Thing[] => [
  { mesh: bowl(), stuff: 'glaze', place: standing(at), color: [0.4, 0.42, 0.38], alpha: 0.2 },
];

/** A book lying down: cover boards round a block of pages. */
function bookAt(at: Vector, size: Vector, turnRad: number, color: Vector): Thing[] {
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

/** A cup of our own drawing, 86 mm tall and 84 mm wide, foot at y = 0: body, handle, and what is in it. */
function cup(): { body: Mesh; handle: Mesh; coffee: Mesh } {
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
const vase = (): Mesh =>
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
const bowl = (): Mesh =>
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
function stems(): { stalks: Mesh[]; heads: Mesh[] } {
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
