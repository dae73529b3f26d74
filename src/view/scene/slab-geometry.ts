import { BufferAttribute, BufferGeometry } from 'three';
import { type OutlinePoint, type SlabShape, slabOutline } from './outline.ts';

/** Width of the ring of bark seen from above, and of the eased edge where the slab is sawn. */
const BARK_MM = 4.2;
const SAWN_MM = 0.9;

/** Slow wander of the edge, -1…1; a sum of sines with whole periods so that it closes. */
function wander(share: number, seed: number): number {
  const t = share * 2 * Math.PI;
  return (
    0.45 * Math.sin(5 * t + seed) +
    0.3 * Math.sin(11 * t + 2.1 * seed) +
    0.15 * Math.sin(23 * t + 3.7 * seed) +
    0.1 * Math.sin(47 * t + 5.3 * seed)
  );
}

interface Ring {
  /** Inset from the outline and height, given the ring width at this point. */
  readonly inset: (rimMm: number, bark: number, share: number) => number;
  readonly y: (bark: number, share: number) => number;
}

/** How far the live edge draws back from the nominal outline here. */
const liveEdge = (bark: number, share: number): number => bark * 0.5 * (1 + wander(share, 7.7));

function rimWidth(point: OutlinePoint, share: number): number {
  return SAWN_MM + (BARK_MM - SAWN_MM) * point.bark * (1 + 0.16 * wander(share, 1.3));
}

function buildRings(outline: readonly OutlinePoint[], rings: readonly Ring[]): BufferGeometry {
  const columns = outline.length + 1;
  const total = outline[outline.length - 1].alongMm;
  const position = new Float32Array(rings.length * columns * 3);
  const edge = new Float32Array(rings.length * columns * 3);
  let v = 0;
  rings.forEach((ring, r) => {
    for (let c = 0; c < columns; c++) {
      const point = outline[c % outline.length];
      const share = (c % outline.length) / outline.length;
      const inset = ring.inset(rimWidth(point, share), point.bark, share) + liveEdge(point.bark, share);
      position.set(
        [point.x - point.normalX * inset, ring.y(point.bark, share), point.z - point.normalZ * inset],
        v * 3,
      );
      // How far out (0 at the paint, 1 at the foot), bark, way along the outline.
      edge.set([r / Math.max(1, rings.length - 1), point.bark, c === outline.length ? total : point.alongMm], v * 3);
      v++;
    }
  });
  const index: number[] = [];
  for (let r = 0; r + 1 < rings.length; r++) {
    for (let c = 0; c + 1 < columns; c++) {
      const a = r * columns + c;
      const b = a + columns;
      index.push(a, b, a + 1, a + 1, b, b + 1);
    }
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  geometry.setAttribute('edge', new BufferAttribute(edge, 3));
  geometry.setIndex(index);
  geometry.computeVertexNormals();
  sewSeam(geometry, rings.length, columns);
  return geometry;
}

/** The first and last columns are the same place: give them the same normal. */
function sewSeam(geometry: BufferGeometry, rows: number, columns: number): void {
  const normal = geometry.getAttribute('normal');
  for (let r = 0; r < rows; r++) {
    const a = r * columns;
    const b = a + columns - 1;
    const x = normal.getX(a) + normal.getX(b);
    const y = normal.getY(a) + normal.getY(b);
    const z = normal.getZ(a) + normal.getZ(b);
    const length = Math.hypot(x, y, z) || 1;
    normal.setXYZ(a, x / length, y / length, z / length);
    normal.setXYZ(b, x / length, y / length, z / length);
  }
}

/** The painted face: flat, with a small roll where the film ends. */
export function faceGeometry(slab: SlabShape): BufferGeometry {
  const outline = slabOutline(slab);
  const flat = (): number => 0;
  const geometry = buildRings(outline, [
    { inset: (rim) => rim + 1.6, y: flat },
    { inset: (rim) => rim + 0.9, y: flat },
    { inset: (rim) => rim + 0.4, y: () => -0.05 },
    { inset: (rim) => rim + 0.1, y: () => -0.2 },
    { inset: (rim) => rim, y: () => -0.45 },
  ]);
  const rolled = geometry.getAttribute('position').array as Float32Array;
  const normals = geometry.getAttribute('normal').array as Float32Array;
  const columns = outline.length + 1;
  const count = rolled.length / 3;
  const position = new Float32Array(rolled.length + 3);
  position.set(rolled);
  const normal = new Float32Array(normals.length + 3);
  normal.set(normals);
  normal.set([0, 1, 0], normals.length);
  for (let c = 0; c < columns; c++) normal.set([0, 1, 0], c * 3);
  const index = Array.from(geometry.getIndex()!.array);
  for (let c = 0; c + 1 < columns; c++) index.push(count, c, c + 1);
  const face = new BufferGeometry();
  face.setAttribute('position', new BufferAttribute(position, 3));
  face.setAttribute('normal', new BufferAttribute(normal, 3));
  face.setIndex(index);
  geometry.dispose();
  return face;
}

/** The rim: from the end of the paint over the bark (or the eased, sawn edge) down to the table. */
export function rimGeometry(slab: SlabShape): BufferGeometry {
  const t = slab.thicknessMm;
  const round = Math.min(3, t * 0.3);
  const live = (sawn: number, bark: number) => (share: number) => sawn + (bark - sawn) * share;
  const ragged = (amount: number, seed: number) => (bark: number, share: number) => amount * bark * wander(share, seed);
  const ring = (
    inset: (rim: number, bark: number) => number,
    y: (bark: number) => number,
    insetWander = 0,
    yWander = 0,
    seed = 1,
  ): Ring => ({
    inset: (rim, bark, share) => Math.max(0, inset(rim, bark) + ragged(insetWander, seed)(bark, share)),
    y: (bark, share) => y(bark) + ragged(yWander, seed + 3)(bark, share),
  });
  return buildRings(slabOutline(slab), [
    ring(
      (rim) => rim + 0.05,
      () => -0.62,
    ),
    ring(
      (rim) => rim - 0.15,
      () => -0.42,
    ),
    ring((rim) => rim * 0.8, live(-0.25, -0.3), 0, 0.06, 1.1),
    ring((rim) => rim * 0.55, live(-0.32, -0.45), 0.1, 0.16, 2.2),
    ring((rim) => rim * 0.3, live(-0.5, -0.9), 0.12, 0.18, 2.9),
    ring((rim) => rim * 0.1, live(-0.9, -round * 0.6), 0.16, 0.2, 4.1),
    ring((_, bark) => 0.25 * bark, live(-1.3, -round), 0.28, 0.2, 5.2),
    ring(
      (_, bark) => 0.3 * bark,
      () => -t * 0.4,
      0.4,
      0,
      6.7,
    ),
    ring(
      (_, bark) => 0.4 * bark,
      () => -t * 0.7,
      0.4,
      0,
      8.3,
    ),
    ring(
      (_, bark) => 0.9 * bark,
      () => -t,
      0.3,
      0,
      9.1,
    ),
  ]);
}
