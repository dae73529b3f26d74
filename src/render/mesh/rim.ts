import {
  type Mesh,
  meshNormals,
  type OutlinePoint,
  periodicNoise,
  type SlabShape,
  slabOutline,
  stretchHeights,
  tileHash,
} from './outline.ts';

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

const SIZE = 256;

/** Size of the tile round the trunk and along it. */
export const BARK_TILE_MM = { round: 72, along: 108 } as const;

/** Plates of bark across the tile and along it: about 4 mm wide and 36 mm long, as on a young trunk of lime. */
const PLATES = { round: 18, along: 3 } as const;

/** How far inside its plate a place is: distance to the nearest other plate over distance to its own middle (F2 − F1). */
function plateDepth(x: number, y: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  let nearest = 9;
  let second = 9;
  for (let j = -2; j <= 1; j++) {
    for (let i = -1; i <= 1; i++) {
      const cx = (x0 + i + PLATES.round) % PLATES.round;
      const cy = (y0 + j + 2 * PLATES.along) % PLATES.along;
      const px = x0 + i + 0.15 + 0.7 * tileHash(cx, cy, 21);
      // Neighbouring columns are half a plate out of step, as bricks are.
      const py = y0 + j + 0.5 * (cx % 2) + 0.1 + 0.55 * tileHash(cx, cy, 22);
      const distance = Math.hypot(px - x, (py - y) * 1.15);
      if (distance < nearest) {
        second = nearest;
        nearest = distance;
      } else if (distance < second) second = distance;
    }
  }
  return second - nearest;
}

/**
 * Heights 0…1 of bark, a tile that repeats: plates drawn out along the trunk with furrows between them (S. Worley, "A cellular texture
 * basis function", SIGGRAPH 1996), and fibres on top. x runs round the trunk, y along it.
 */
export function barkHeights(size = SIZE): Float32Array {
  const height = new Float32Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const u = x / size;
      const v = y / size;
      const sway =
        periodicNoise(u * 7, v * 9, 7, 9, 11) - 0.5 + 0.4 * (periodicNoise(u * 15, v * 19, 15, 19, 12) - 0.5);
      const depth = plateDepth(u * PLATES.round + 1.1 * sway, v * PLATES.along + 0.12 * sway);
      const t = Math.min(1, depth / 0.3);
      const plate = t * (2 - t);
      // Plates split along their fibres, and crumble.
      const split = Math.abs(2 * periodicNoise(u * 34 + 1.2 * sway, v * 8, 34, 8, 16) - 1);
      const fibre = periodicNoise(u * 80, v * 18, 80, 18, 13);
      const crumb = periodicNoise(u * 64, v * 88, 64, 88, 14);
      const slow = periodicNoise(u * 9, v * 5, 9, 5, 15);
      height[y * size + x] =
        0.46 * plate +
        0.26 * Math.min(1, 3.2 * split) * (0.35 + 0.65 * plate) +
        0.14 * fibre +
        0.13 * crumb +
        0.16 * slow;
    }
  }
  return stretchHeights(height);
}

/** Height of the tile at a place in mm, 0…1; `heights` as `barkHeights` makes them. */
export function barkHeightAt(heights: Float32Array, roundMm: number, alongMm: number): number {
  const size = Math.sqrt(heights.length);
  const x = (((roundMm / BARK_TILE_MM.round) % 1) + 1) * size;
  const y = (((alongMm / BARK_TILE_MM.along) % 1) + 1) * size;
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const at = (i: number, j: number): number => heights[((y0 + j) % size) * size + ((x0 + i) % size)];
  const north = at(0, 0) + (at(1, 0) - at(0, 0)) * (x - x0);
  const south = at(0, 1) + (at(1, 1) - at(0, 1)) * (x - x0);
  return north + (south - north) * (y - y0);
}

/**
 * How the bark's tile lies on the rim. Along a slice's outline one goes round the trunk, along a plank's one follows it; the way
 * along the outline is stretched so that whole tiles close it. The same mapping is in shaders/rim.frag.
 */
interface BarkPlace {
  /** mm of bark once round the outline. */
  readonly wayMm: number;
  readonly followsTrunk: boolean;
}

export function barkPlace(slab: SlabShape, outlineMm: number): BarkPlace {
  const followsTrunk = slab.cut === 'plank';
  const tileMm = followsTrunk ? BARK_TILE_MM.along : BARK_TILE_MM.round;
  return { wayMm: Math.max(1, Math.round(outlineMm / tileMm)) * tileMm, followsTrunk };
}

/** Way over the rim from the paint to a place `out` on it (0 paint, 1 widest, 2 foot), mm. */
export const overRimMm = (slab: SlabShape, out: number): number =>
  Math.min(1, out) * BARK_MM + Math.max(0, out - 1) * slab.thicknessMm;

/** Width of the ring of bark seen from above, and of the eased edge where the slab is sawn. */
export const BARK_MM = 4.2;

const SAWN_MM = 0.9;

export const SEEN_MM = 0.8;

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
interface EdgeMesh extends Mesh {
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
