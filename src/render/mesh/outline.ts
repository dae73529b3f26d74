import { clockwise, perimeterMm, resampleOutline } from '../../base/geometry/outline.ts';

export interface SlabShape {
  readonly shape: 'oval' | 'rectangle' | 'outline';
  /** Corners of the closed outline when the shape is one, from the slab's centre, y growing towards the viewer. */
  readonly outlineMm?: readonly (readonly [number, number])[];
  readonly widthMm: number;
  readonly heightMm: number;
  readonly thicknessMm: number;
  /** Linear rgb of the sanded wood. */
  readonly woodColor: readonly [number, number, number];
  /** What runs round it: bark (on a rectangle along the two long sides only) or a sawn, eased edge. Default 'bark'. */
  readonly edge?: 'bark' | 'sawn';
  /** How it was cut from the trunk: across it ('slice', grain running down its side) or along it ('plank', grain along its width, rings on its two ends). Default 'slice'. */
  readonly cut?: 'slice' | 'plank';
  /** Where the trunk's middle is, from the slab's centre, y growing towards the viewer; on a plank it lies below the slab. Default 0, 0. */
  readonly pithXMm?: number;
  readonly pithYMm?: number;
  /** Mean width of a growth ring. Default 2.4. */
  readonly ringWidthMm?: number;
}

/** A point of the slab's outline seen from above: place, outward normal, way along the outline, and whether bark is there. */
export interface OutlinePoint {
  readonly x: number;
  readonly z: number;
  readonly normalX: number;
  readonly normalZ: number;
  readonly alongMm: number;
  /** 1 where the edge is live (bark), 0 where it is sawn. */
  readonly bark: number;
}

/** Radius of a rectangular slab's corners. */
const CORNER_MM = 4;

const smooth = (x: number): number => {
  const t = Math.min(1, Math.max(0, x));
  return t * t * (3 - 2 * t);
};

/** The closed outline, counter-clockwise seen from above with north up, without repeating the first point. */
export function slabOutline(slab: SlabShape, steps = 288): OutlinePoint[] {
  const a = slab.widthMm / 2;
  const b = slab.heightMm / 2;
  const live = slab.edge === 'sawn' ? 0 : 1;
  const raw: { x: number; z: number; normalX: number; normalZ: number; bark: number }[] = [];
  if (slab.shape === 'outline' && slab.outlineMm && slab.outlineMm.length >= 3) {
    for (const point of freeOutline(slab.outlineMm, steps)) raw.push({ ...point, bark: live });
  } else if (slab.shape !== 'rectangle') {
    for (let i = 0; i < steps; i++) {
      const t = (i / steps) * 2 * Math.PI;
      const nx = Math.cos(t) / a;
      const nz = -Math.sin(t) / b;
      const n = Math.hypot(nx, nz);
      raw.push({ x: a * Math.cos(t), z: -b * Math.sin(t), normalX: nx / n, normalZ: nz / n, bark: live });
    }
  } else {
    const r = Math.min(CORNER_MM, a, b);
    const corners = [
      [a - r, -(b - r), 0],
      [-(a - r), -(b - r), 1],
      [-(a - r), b - r, 2],
      [a - r, b - r, 3],
    ] as const;
    const perSide = Math.max(2, Math.round(steps / 4) - 8);
    corners.forEach(([cx, cz, quarter], index) => {
      for (let i = 0; i <= 8; i++) {
        const t = (quarter + i / 8) * (Math.PI / 2);
        raw.push({
          x: cx + r * Math.cos(t),
          z: cz - r * Math.sin(t),
          normalX: Math.cos(t),
          normalZ: -Math.sin(t),
          bark: live * smooth((Math.abs(Math.sin(t)) - 0.35) / 0.5),
        });
      }
      const next = corners[(index + 1) % 4];
      const turn = (quarter + 1) * (Math.PI / 2);
      const normalX = Math.cos(turn);
      const normalZ = -Math.sin(turn);
      for (let i = 1; i < perSide; i++) {
        const s = i / perSide;
        raw.push({
          x: cx + (next[0] - cx) * s + r * normalX,
          z: cz + (next[1] - cz) * s + r * normalZ,
          normalX,
          normalZ,
          bark: Math.abs(normalZ) > 0.5 ? live : 0,
        });
      }
    });
  }
  let alongMm = 0;
  return raw.map((point, i) => {
    const before = raw[i === 0 ? 0 : i - 1];
    alongMm += Math.hypot(point.x - before.x, point.z - before.z);
    return { ...point, alongMm };
  });
}

/** Neighbours on either side over which a free outline's normals are smoothed, so that its rim does not kink at every corner. */
const NORMAL_REACH = 3;

/** A free outline in even steps, counter-clockwise seen from above, with smoothed normals. */
function freeOutline(corners: readonly (readonly [number, number])[], steps: number) {
  // Seen from above as on the screen: y grows towards the viewer.
  const ring = [...clockwise(corners)].reverse();
  const places = resampleOutline(ring, perimeterMm(ring) / steps);
  return places.map(([x, z], i) => {
    const before = places[(i - NORMAL_REACH + steps) % steps];
    const after = places[(i + NORMAL_REACH) % steps];
    const [tangentX, tangentZ] = [after[0] - before[0], after[1] - before[1]];
    const length = Math.max(1e-6, Math.hypot(tangentX, tangentZ));
    return { x, z, normalX: -tangentZ / length, normalZ: tangentX / length };
  });
}

/** Points at the edge of the slab's face and foot, for fitting the camera. */
export function slabHull(slab: SlabShape): [number, number, number][] {
  return slabOutline(slab, 64).flatMap((p): [number, number, number][] => [
    [p.x, 0, p.z],
    [p.x, -slab.thicknessMm, p.z],
  ]);
}

/** Triangles: places in mm, unit normals, counter-clockwise seen from outside. */
export interface Mesh {
  /** x, y, z a vertex. */
  readonly position: Float32Array;
  readonly normal: Float32Array;
  readonly index: Uint32Array;
}

/** Normals of vertices: the sum of the triangles round each, by area. */
export function meshNormals(position: Float32Array, index: ArrayLike<number>): Float32Array {
  const normal = new Float32Array(position.length);
  for (let i = 0; i < index.length; i += 3) {
    const [a, b, c] = [3 * index[i], 3 * index[i + 1], 3 * index[i + 2]];
    const [ux, uy, uz] = [0, 1, 2].map((k) => position[c + k] - position[b + k]);
    const [vx, vy, vz] = [0, 1, 2].map((k) => position[a + k] - position[b + k]);
    const [x, y, z] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    for (const at of [a, b, c]) {
      normal[at] += x;
      normal[at + 1] += y;
      normal[at + 2] += z;
    }
  }
  for (let i = 0; i < normal.length; i += 3) {
    const length = Math.hypot(normal[i], normal[i + 1], normal[i + 2]) || 1;
    for (let k = 0; k < 3; k++) normal[i + k] /= length;
  }
  return normal;
}

/** Small integer hash to 0…1 (a multiply-and-shift mix of our own choosing; only its look matters). */
export function tileHash(x: number, y: number, octave: number): number {
  let h = Math.imul(x, 0x27d4eb2d) ^ Math.imul(y, 0x165667b1) ^ Math.imul(octave + 1, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

/** Value noise with quintic blending (K. Perlin, "Improving noise", SIGGRAPH 2002) that repeats after `across` and `along` cells. */
export function periodicNoise(x: number, y: number, across: number, along: number, octave: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const fade = (t: number): number => t * t * t * (t * (t * 6 - 15) + 10);
  const wrap = (i: number, cells: number): number => ((i % cells) + cells) % cells;
  const u = fade(x - x0);
  const v = fade(y - y0);
  const at = (i: number, j: number): number => tileHash(wrap(x0 + i, across), wrap(y0 + j, along), octave);
  const north = at(0, 0) + (at(1, 0) - at(0, 0)) * u;
  const south = at(0, 1) + (at(1, 1) - at(0, 1)) * u;
  return north + (south - north) * v;
}

/** Lattice cells across a tile, and their share of its height. */
export type Octaves = readonly (readonly [cells: number, share: number])[];

/** Heights 0…1 of an unevenness without a direction, a tile that repeats. */
export function noiseTile(size: number, octaves: Octaves, seed = 0): Float32Array {
  const height = new Float32Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      let sum = 0;
      octaves.forEach(([cells, share], octave) => {
        sum += share * periodicNoise((x / size) * cells, (y / size) * cells, cells, cells, seed + octave);
      });
      height[y * size + x] = sum;
    }
  }
  return stretchHeights(height);
}

/** Stretches heights to 0…1 in place. */
export function stretchHeights(height: Float32Array): Float32Array {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const h of height) {
    low = Math.min(low, h);
    high = Math.max(high, h);
  }
  for (let i = 0; i < height.length; i++) height[i] = (height[i] - low) / (high - low);
  return height;
}
