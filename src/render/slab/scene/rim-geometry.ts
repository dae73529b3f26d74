import { BufferAttribute, BufferGeometry } from 'three';
import type { SlabShape } from '../../mesh/outline.ts';
import { rimMesh } from '../../mesh/rim.ts';

/** The rim, with the attributes `edge` and `above` of its mesh. */
export function rimGeometry(slab: SlabShape, barkHeights: Float32Array): BufferGeometry {
  const { position, normal, edge, above, index } = rimMesh(slab, barkHeights);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  geometry.setAttribute('normal', new BufferAttribute(normal, 3));
  geometry.setAttribute('edge', new BufferAttribute(edge, 3));
  geometry.setAttribute('above', new BufferAttribute(above, 2));
  geometry.setIndex(new BufferAttribute(index, 1));
  return geometry;
}
