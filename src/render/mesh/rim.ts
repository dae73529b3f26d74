import { barkHeightAt } from './bark-heights.ts';
import { barkPlace, overRimMm } from './bark-place.ts';

import { type SlabShape, slabOutline } from './outline.ts';
import { buildRings, type EdgeMesh, type Ring, wander } from './rings.ts';

/** Distance of columns where bark has to show its furrows in the slab's outline, and the most columns. */
const BARK_STEP_MM = 2;
const MOST_COLUMNS = 640;
/** How far plates of bark stand out over the bottom of the furrows, mm (estimate for a young trunk). */
const BARK_RELIEF_MM = 1.5;

const smooth = (low: number, high: number, x: number): number => {
  const t = Math.min(1, Math.max(0, (x - low) / (high - low)));
  return t * t * (3 - 2 * t);
};

/** The rim: from the end of the paint over the bark (or the eased, sawn edge) down to the table. */
export function rimMesh(slab: SlabShape, barkHeights: Float32Array): EdgeMesh {
  const t = slab.thicknessMm;
  const round = Math.min(3, t * 0.3);
  const ease = Math.min(1, t / 6);
  const side = (share: number, bark: number, sawnInset = 0): Ring => ({
    inset: (_, live, where) => live * (bark + 0.3 * wander(where, 5 + share)) + (1 - live) * sawnInset,
    y: () => -t * share,
    out: 1 + share,
  });
  const top = (out: number, sawnY: number, barkY: number, ragged: number): Ring => ({
    inset: (rim, bark, where) => rim * (1 - out) + bark * ragged * wander(where, 1 + 3 * out),
    y: (bark, where) =>
      Math.min(-0.25, ease * (sawnY + (barkY - sawnY) * bark)) + bark * ragged * wander(where, 4 + 3 * out),
    out,
  });
  const rings: Ring[] = [
    { inset: (rim) => rim + 0.12, y: () => -0.36, out: 0 },
    { inset: (rim) => rim - 0.12, y: () => -0.25, out: 0.03 },
    top(0.2, -0.34, -0.26, 0),
    top(0.42, -0.5, -0.34, 0.05),
    top(0.58, -0.72, -0.55, 0.1),
    top(0.74, -1.05, -0.95, 0.12),
    top(0.88, -1.4, -1.5, 0.12),
    { inset: (_, bark) => 0.22 * bark, y: (bark) => -1.9 * ease * (1 - bark) - round * bark, out: 1 + round / t },
    side(0.4, 0.2),
    side(0.65, 0.3),
    side(0.9, 0.6),
    side(1, 0.9, 0.4 * ease),
  ];
  const coarse = slabOutline(slab);
  const outlineMm = coarse[coarse.length - 1].alongMm;
  const live = coarse.some((point) => point.bark > 0);
  const columns = live ? Math.min(MOST_COLUMNS, Math.max(288, Math.round(outlineMm / BARK_STEP_MM))) : 288;
  const mesh = buildRings(slabOutline(slab, columns), rings);
  if (live) raiseBark(mesh, slab, outlineMm, barkHeights);
  return mesh;
}

/** Moves the vertices of the bark in and out; their normals stay, because whoever draws it tilts them by the same relief. */
function raiseBark(
  { position, normal, edge }: EdgeMesh,
  slab: SlabShape,
  outlineMm: number,
  heights: Float32Array,
): void {
  const { wayMm, followsTrunk } = barkPlace(slab, outlineMm);
  for (let v = 0; v < position.length; v += 3) {
    const out = edge[v];
    const raised = edge[v + 1] * smooth(0.45, 0.8, out);
    if (raised === 0) continue;
    const way = edge[v + 2] * wayMm;
    const over = overRimMm(slab, out);
    const height = followsTrunk ? barkHeightAt(heights, over, way) : barkHeightAt(heights, way, over);
    const off = raised * BARK_RELIEF_MM * (height - 0.62);
    for (let k = 0; k < 3; k++) position[v + k] += normal[v + k] * off;
    position[v + 1] = Math.max(-slab.thicknessMm, position[v + 1]);
  }
}
