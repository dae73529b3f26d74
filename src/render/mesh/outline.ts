import { clockwise, perimeterMm } from '../../base/geometry/polygon.ts';
import { resampleOutline } from '../../base/geometry/resample-outline.ts';

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
export const CORNER_MM = 4;

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
