import earcut from 'earcut';
import { type Mesh, type SlabShape, slabOutline } from './outline.ts';
import { buildRings } from './rim.ts';

/** The painted face: flat, with a small roll where the film ends. */
export function faceMesh(slab: SlabShape): Mesh {
  const outline = slabOutline(slab);
  const flat = (): number => 0;
  const rolled = buildRings(outline, [
    { inset: (rim) => rim + 1.6, y: flat, out: 0 },
    { inset: (rim) => rim + 0.9, y: flat, out: 0 },
    { inset: (rim) => rim + 0.4, y: () => -0.03, out: 0 },
    { inset: (rim) => rim + 0.1, y: () => -0.11, out: 0 },
    { inset: (rim) => rim, y: () => -0.25, out: 0 },
  ]);
  const columns = outline.length + 1;
  const count = rolled.position.length / 3;
  const position = new Float32Array(rolled.position.length + 3);
  position.set(rolled.position);
  const normal = new Float32Array(position.length);
  normal.set(rolled.normal);
  normal.set([0, 1, 0], rolled.normal.length);
  for (let c = 0; c < columns; c++) normal.set([0, 1, 0], c * 3);
  const index = Array.from(rolled.index);
  if (slab.shape === 'outline') {
    // A bay may hide part of the face from its middle: no fan.
    index.push(...ringTriangles(outline.map((_, c) => [position[3 * c], position[3 * c + 2]])));
  } else {
    for (let c = 0; c + 1 < columns; c++) index.push(count, c, c + 1);
  }
  return { position, normal, index: Uint32Array.from(index) };
}

/** The inside of a ring of points (x, z) as triangles that face up, whichever way the ring runs. */
export function ringTriangles(ring: readonly (readonly [number, number])[]): number[] {
  const triangles = earcut(ring.flat());
  for (let i = 0; i < triangles.length; i += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => ring[triangles[i + k]]);
    const turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    if (turn > 0) [triangles[i + 1], triangles[i + 2]] = [triangles[i + 2], triangles[i + 1]];
  }
  return triangles;
}
