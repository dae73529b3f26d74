import { type Mesh, meshNormals } from './mesh.ts';
import type { OutlinePoint } from './outline.ts';

/** Width of the ring of bark seen from above, and of the eased edge where the slab is sawn. */
export const BARK_MM = 4.2;
const SAWN_MM = 0.9;
export const SEEN_MM = 0.8;

/** Slow wander of the edge, -1…1; a sum of sines with whole periods so that it closes. */
export function wander(share: number, seed: number): number {
  const t = share * 2 * Math.PI;
  return (
    0.45 * Math.sin(5 * t + seed) +
    0.3 * Math.sin(11 * t + 2.1 * seed) +
    0.15 * Math.sin(23 * t + 3.7 * seed) +
    0.1 * Math.sin(47 * t + 5.3 * seed)
  );
}

export interface Ring {
  /** Inset from the outline and height, given the ring's width at this point. */
  readonly inset: (rimMm: number, bark: number, share: number) => number;
  readonly y: (bark: number, share: number) => number;
  /** How far out: 0 where the paint ends, 1 where the slab is widest, 2 at its foot. */
  readonly out: number;
}

/** How far the live edge draws back from the nominal outline here. */
export const liveEdge = (bark: number, share: number): number => bark * 0.5 * (1 + wander(share, 7.7));

export const rimWidth = (bark: number, share: number): number =>
  SAWN_MM + (BARK_MM - SAWN_MM) * bark * (1 + 0.16 * wander(share, 1.3));

/**
 * A mesh with what a rim needs at each vertex: `edge`, how far out it is (see `Ring`), how much bark is there, and its way along the
 * outline as a share of it; `above`, its place (x, z) on a picture from above, not nearer to the outline than what can be told from
 * the table there.
 */
export interface EdgeMesh extends Mesh {
  readonly edge: Float32Array;
  readonly above: Float32Array;
}

/** A band round the slab from rings of vertices, each ring closed by a last column in the place of the first. */
export function buildRings(outline: readonly OutlinePoint[], rings: readonly Ring[]): EdgeMesh {
  const columns = outline.length + 1;
  const first = outline[0];
  const last = outline[outline.length - 1];
  const totalMm = last.alongMm + Math.hypot(last.x - first.x, last.z - first.z);
  const position = new Float32Array(rings.length * columns * 3);
  const edge = new Float32Array(rings.length * columns * 3);
  const above = new Float32Array(rings.length * columns * 2);
  let v = 0;
  for (const ring of rings) {
    for (let c = 0; c < columns; c++) {
      const point = outline[c % outline.length];
      const share = c === outline.length ? 1 : point.alongMm / totalMm;
      const inset = ring.inset(rimWidth(point.bark, share), point.bark, share) + liveEdge(point.bark, share);
      position.set(
        [point.x - point.normalX * inset, ring.y(point.bark, share), point.z - point.normalZ * inset],
        v * 3,
      );
      edge.set([ring.out, point.bark, share], v * 3);
      const seen = Math.max(inset, SEEN_MM);
      above.set([point.x - point.normalX * seen, point.z - point.normalZ * seen], v * 2);
      v++;
    }
  }
  const index: number[] = [];
  for (let r = 0; r + 1 < rings.length; r++) {
    for (let c = 0; c + 1 < columns; c++) {
      const a = r * columns + c;
      const b = a + columns;
      index.push(a, b, a + 1, a + 1, b, b + 1);
    }
  }
  const normal = meshNormals(position, index);
  sewSeam(normal, rings.length, columns);
  return { position, normal, edge, above, index: Uint32Array.from(index) };
}

/** The first and last columns are the same place: give them the same normal. */
function sewSeam(normal: Float32Array, rows: number, columns: number): void {
  for (let r = 0; r < rows; r++) {
    const a = 3 * r * columns;
    const b = a + 3 * (columns - 1);
    const sum = [0, 1, 2].map((k) => normal[a + k] + normal[b + k]);
    const length = Math.hypot(...sum) || 1;
    for (let k = 0; k < 3; k++) {
      normal[a + k] = sum[k] / length;
      normal[b + k] = sum[k] / length;
    }
  }
}
