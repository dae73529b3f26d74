/** Triangles: places in mm, unit normals, counter-clockwise seen from outside. */
export interface Mesh {
  /** x, y, z a vertex. */
  readonly position: Float32Array;
  readonly normal: Float32Array;
  readonly index: Uint32Array;
}

/** Normals of vertices: the sum of the triangles round each, by area. */
export function meshNormals(position: Float32Array, index: ArrayLike<number>): Float32Array {
  const normal = new Float32Array(position.length);
  for (let i = 0; i < index.length; i += 3) {
    const [a, b, c] = [3 * index[i], 3 * index[i + 1], 3 * index[i + 2]];
    const [ux, uy, uz] = [0, 1, 2].map((k) => position[c + k] - position[b + k]);
    const [vx, vy, vz] = [0, 1, 2].map((k) => position[a + k] - position[b + k]);
    const [x, y, z] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    for (const at of [a, b, c]) {
      normal[at] += x;
      normal[at + 1] += y;
      normal[at + 2] += z;
    }
  }
  for (let i = 0; i < normal.length; i += 3) {
    const length = Math.hypot(normal[i], normal[i + 1], normal[i + 2]) || 1;
    for (let k = 0; k < 3; k++) normal[i + k] /= length;
  }
  return normal;
}
