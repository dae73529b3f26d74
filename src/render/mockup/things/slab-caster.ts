import { ringTriangles } from '../../mesh/face.ts';
import type { Mesh } from '../../mesh/mesh.ts';
import { type SlabShape, slabOutline } from '../../mesh/outline.ts';

const STEPS = 120;
/** How far it stays inside the slab, so that the slab's own surface does not lie in its shadow, mm. */
const INSET_MM = 1.4;

/** A plain prism a little within a slab: throws its shadow at a fraction of the price of all its bark. */
export function slabCaster(slab: SlabShape): Mesh {
  const outline = slabOutline(slab, STEPS);
  const n = outline.length;
  const position = new Float32Array(6 * n);
  outline.forEach(({ x, z, normalX, normalZ }, i) => {
    const [px, pz] = [x - normalX * INSET_MM, z - normalZ * INSET_MM];
    position.set([px, -0.6, pz], 3 * i);
    position.set([px, -slab.thicknessMm + 0.4, pz], 3 * (n + i));
  });
  const top = ringTriangles(outline.map((_, i) => [position[3 * i], position[3 * i + 2]]));
  const index = [...top, ...top.map((i) => n + i)];
  for (let i = 0; i < n; i++) {
    const next = (i + 1) % n;
    index.push(i, n + i, next, next, n + i, n + next);
  }
  return { position, normal: new Float32Array(position.length), index: Uint32Array.from(index) };
}
