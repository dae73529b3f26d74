import { barkHeights } from '../mesh/bark-heights.ts';
import { faceMesh, ringTriangles } from '../mesh/face.ts';
import type { Mesh } from '../mesh/mesh.ts';
import { type SlabShape, slabOutline } from '../mesh/outline.ts';
import { rimMesh } from '../mesh/rim.ts';
import { drawRim, type RimMap, rimShare } from './rim-map.ts';
import type { WoodPicture } from './wood-picture.ts';

/** A mesh with places in its picture (u right, v down, 0–1) and tangents (x, y, z along growing u; w as in glTF 2.0, 3.7.2.1). */
export interface PaintedMesh extends Mesh {
  readonly uv: Float32Array;
  readonly tangent: Float32Array;
}

/** A slab as three meshes, mm: the face (y = 0, up), the rim with its own pictures, and the back. */
export interface SlabParts {
  readonly face: PaintedMesh;
  readonly rim: PaintedMesh;
  readonly back: PaintedMesh;
  readonly rimMap: RimMap;
}

export function slabParts(slab: SlabShape, wood: WoodPicture | null = null): SlabParts {
  const heights = barkHeights();
  return {
    face: overBox(faceMesh(slab), slab),
    rim: unrolled(slab, heights),
    back: backMesh(slab),
    rimMap: drawRim(slab, heights, wood),
  };
}

/** Picture places over the slab's bounding box as seen from above. */
function overBox(mesh: Mesh, { widthMm, heightMm }: SlabShape): PaintedMesh {
  const count = mesh.position.length / 3;
  const uv = new Float32Array(2 * count);
  const tangent = new Float32Array(4 * count);
  for (let v = 0; v < count; v++) {
    uv[2 * v] = mesh.position[3 * v] / widthMm + 0.5;
    uv[2 * v + 1] = mesh.position[3 * v + 2] / heightMm + 0.5;
    const [nx, ny] = [mesh.normal[3 * v], mesh.normal[3 * v + 1]];
    const length = Math.hypot(nx, ny) || 1;
    tangent.set([ny / length, -nx / length, 0, 1], 4 * v);
  }
  return { ...mesh, uv, tangent };
}

function unrolled(slab: SlabShape, heights: Float32Array): PaintedMesh {
  const { position, normal, edge, index } = rimMesh(slab, heights);
  const count = position.length / 3;
  const uv = new Float32Array(2 * count);
  const tangent = new Float32Array(4 * count);
  for (let v = 0; v < count; v++) {
    uv[2 * v] = edge[3 * v + 2];
    uv[2 * v + 1] = rimShare(slab, edge[3 * v]);
    // The outline runs counter-clockwise seen from above: along it is up × outwards.
    const [nx, nz] = [normal[3 * v], normal[3 * v + 2]];
    const length = Math.hypot(nx, nz) || 1;
    tangent.set([nz / length, 0, -nx / length, 1], 4 * v);
  }
  return { position, normal, index, uv, tangent };
}

const BACK_STEPS = 288;

/** The sawn back, slightly within the foot of the rim. */
function backMesh(slab: SlabShape): PaintedMesh {
  const outline = slabOutline(slab, BACK_STEPS);
  const position = new Float32Array(3 * outline.length);
  const normal = new Float32Array(3 * outline.length);
  outline.forEach((point, i) => {
    const inset = 0.3 + 1.2 * point.bark;
    position.set([point.x - point.normalX * inset, -slab.thicknessMm + 0.01, point.z - point.normalZ * inset], 3 * i);
    normal.set([0, -1, 0], 3 * i);
  });
  const up = ringTriangles(outline.map((_, i) => [position[3 * i], position[3 * i + 2]]));
  const index = Uint32Array.from(up);
  for (let i = 0; i < index.length; i += 3) [index[i + 1], index[i + 2]] = [index[i + 2], index[i + 1]];
  const box = overBox({ position, normal, index }, slab);
  for (let v = 0; v < outline.length; v++) box.tangent.set([1, 0, 0, 1], 4 * v);
  return box;
}
