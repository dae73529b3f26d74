import { BufferAttribute, BufferGeometry } from 'three';
import { buildRings } from './edge-rings.ts';
import { type SlabShape, slabOutline } from './outline.ts';

/** The painted face: flat, with a small roll where the film ends. */
export function faceGeometry(slab: SlabShape): BufferGeometry {
  const outline = slabOutline(slab);
  const flat = (): number => 0;
  const geometry = buildRings(outline, [
    { inset: (rim) => rim + 1.6, y: flat, out: 0 },
    { inset: (rim) => rim + 0.9, y: flat, out: 0 },
    { inset: (rim) => rim + 0.4, y: () => -0.03, out: 0 },
    { inset: (rim) => rim + 0.1, y: () => -0.11, out: 0 },
    { inset: (rim) => rim, y: () => -0.25, out: 0 },
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
