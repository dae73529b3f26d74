import { BufferAttribute, BufferGeometry, ShapeUtils, Vector2 } from 'three';
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
  if (slab.shape === 'outline') {
    // A bay may hide part of the face from its middle: no fan.
    const ring = outline.map((_, c) => new Vector2(position[3 * c], position[3 * c + 2]));
    for (const [one, two, three] of ShapeUtils.triangulateShape(ring, []))
      index.push(...facingUp(ring, one, two, three));
  } else {
    for (let c = 0; c + 1 < columns; c++) index.push(count, c, c + 1);
  }
  const face = new BufferGeometry();
  face.setAttribute('position', new BufferAttribute(position, 3));
  face.setAttribute('normal', new BufferAttribute(normal, 3));
  face.setIndex(index);
  geometry.dispose();
  return face;
}

/** The corners of a triangle in the order in which it faces up: as the fan's do. */
function facingUp(ring: readonly Vector2[], one: number, two: number, three: number): [number, number, number] {
  const [a, b, c] = [ring[one], ring[two], ring[three]];
  const turn = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
  return turn < 0 ? [one, two, three] : [one, three, two];
}
