import { BufferAttribute, BufferGeometry } from 'three';
import { faceMesh } from '../../mesh/face.ts';
import type { SlabShape } from '../../mesh/outline.ts';

/** The painted face: flat, with a small roll where the film ends. */
export function faceGeometry(slab: SlabShape): BufferGeometry {
  const { position, normal, index } = faceMesh(slab);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  geometry.setAttribute('normal', new BufferAttribute(normal, 3));
  geometry.setIndex(new BufferAttribute(index, 1));
  return geometry;
}
