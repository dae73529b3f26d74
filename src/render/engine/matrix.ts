// Own, and not a library's: what is needed of one is ten short functions, and tiles of a perspective are none of them.

export type Vector = readonly [number, number, number];

/** 4 × 4 matrices, column by column, as WebGL takes them. */
export type Matrix = readonly number[];

export const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

export const subtract = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

/** a, and so many times b further on. */
export const along = (a: Vector, b: Vector, times: number): Vector => [
  a[0] + b[0] * times,
  a[1] + b[1] * times,
  a[2] + b[2] * times,
];

export const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

export function normalize(a: Vector): Vector {
  const length = Math.hypot(...a) || 1;
  return [a[0] / length, a[1] / length, a[2] / length];
}

/** Turns by columns: where x, y and z go, and what is added. */
export const frame = (x: Vector, y: Vector, z: Vector, at: Vector = [0, 0, 0]): Matrix => [
  ...[...x, 0],
  ...[...y, 0],
  ...[...z, 0],
  ...[...at, 1],
];

export const moved = (at: Vector): Matrix => frame([1, 0, 0], [0, 1, 0], [0, 0, 1], at);

/** Turned about y (counter-clockwise seen from above), then moved. */
export function turned(turnRad: number, at: Vector = [0, 0, 0]): Matrix {
  const c = Math.cos(turnRad);
  const s = Math.sin(turnRad);
  return frame([c, 0, -s], [0, 1, 0], [s, 0, c], at);
}

/** a · b: b first. */
export function multiply(a: Matrix, b: Matrix): Matrix {
  const out: number[] = [];
  for (let c = 0; c < 4; c++) {
    for (let r = 0; r < 4; r++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += a[4 * k + r] * b[4 * c + k];
      out.push(sum);
    }
  }
  return out;
}

/** A place through a matrix without perspective; a way where `w` is 0. */
export const apply = (m: Matrix, p: Vector, w = 1): Vector => [
  m[0] * p[0] + m[4] * p[1] + m[8] * p[2] + m[12] * w,
  m[1] * p[0] + m[5] * p[1] + m[9] * p[2] + m[13] * w,
  m[2] * p[0] + m[6] * p[1] + m[10] * p[2] + m[14] * w,
];

/** From the world to an eye that looks at a target; −z is ahead. */
export function lookAt(eye: Vector, target: Vector, up: Vector): Matrix {
  const back = normalize(subtract(eye, target));
  const right = normalize(cross(up, back));
  const above = cross(back, right);
  const rows = [right, above, back];
  return [...[0, 1, 2].flatMap((k) => [...rows.map((row) => row[k]), 0]), ...rows.map((row) => -dot(row, eye)), 1];
}

/** A part of a picture: 0–1 from its left bottom corner. */
export interface Tile {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export const WHOLE: Tile = { x: 0, y: 0, width: 1, height: 1 };

/** Perspective of a tile of a picture. `fieldRad` is the upright field of view of the whole. */
export function perspective(fieldRad: number, ratio: number, near: number, far: number, tile: Tile = WHOLE): Matrix {
  const top = near * Math.tan(fieldRad / 2);
  const left = (2 * tile.x - 1) * top * ratio;
  const right = left + 2 * tile.width * top * ratio;
  const bottom = (2 * tile.y - 1) * top;
  const above = bottom + 2 * tile.height * top;
  return [
    ...[(2 * near) / (right - left), 0, 0, 0],
    ...[0, (2 * near) / (above - bottom), 0, 0],
    ...[(right + left) / (right - left), (above + bottom) / (above - bottom), -(far + near) / (far - near), -1],
    ...[0, 0, (-2 * far * near) / (far - near), 0],
  ];
}

/** Parallel light from a direction onto a ball: clip space of a shadow map. */
export function parallel(from: Vector, centre: Vector, radius: number): Matrix {
  const up: Vector = Math.abs(from[1]) > 0.9 ? [1, 0, 0] : [0, 1, 0];
  const view = lookAt(along(centre, from, radius * 2), centre, up);
  const box = frame([1 / radius, 0, 0], [0, 1 / radius, 0], [0, 0, -1 / (1.5 * radius)], [0, 0, -4 / 3]);
  return multiply(box, view);
}
