import type { Matrix, Vector } from '../../engine/matrix.ts';
import { type Mesh, meshNormals, type SlabShape } from '../../mesh/outline.ts';
import type { PaintedMesh } from '../../model/slab-parts.ts';

/** A grid of places, closed or open, as triangles; `outward` is whether growing u × growing v points out. */
function sheet(
  columns: number,
  rows: number,
  place: (u: number, v: number) => readonly [number, number, number],
): Mesh {
  const position = new Float32Array(3 * (columns + 1) * (rows + 1));
  for (let r = 0; r <= rows; r++) {
    for (let c = 0; c <= columns; c++) position.set(place(c / columns, r / rows), 3 * (r * (columns + 1) + c));
  }
  const index: number[] = [];
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const a = r * (columns + 1) + c;
      const b = a + columns + 1;
      index.push(a, a + 1, b, b, a + 1, b + 1);
    }
  }
  const normal = meshNormals(position, index);
  // Where the sheet closes on itself both ends share their normal.
  for (let r = 0; r <= rows; r++) {
    const a = 3 * r * (columns + 1);
    const b = a + 3 * columns;
    if (Math.hypot(...[0, 1, 2].map((k) => position[a + k] - position[b + k])) > 1e-3) continue;
    const sum = [0, 1, 2].map((k) => normal[a + k] + normal[b + k]);
    const length = Math.hypot(...sum) || 1;
    for (let k = 0; k < 3; k++) {
      normal[a + k] = sum[k] / length;
      normal[b + k] = sum[k] / length;
    }
  }
  return { position, normal, index: Uint32Array.from(index) };
}

/** A body turned on a lathe round y from a profile of (radius, height), bottom outside to wherever it ends; smooth along the profile. */
export function lathe(profile: readonly (readonly [number, number])[], columns = 60): Mesh {
  const smooth = throughPoints(profile, 3);
  return sheet(columns, smooth.length - 1, (u, v) => {
    const [radius, height] = smooth[Math.round(v * (smooth.length - 1))];
    const turn = -u * 2 * Math.PI;
    return [radius * Math.cos(turn), height, radius * Math.sin(turn)];
  });
}

/** A bent rod of changing radius along a way. */
export function rod(
  way: readonly (readonly [number, number, number])[],
  radius: (share: number) => number,
  columns = 14,
): Mesh {
  const line = throughPoints(way, 6);
  const rows = line.length - 1;
  return sheet(columns, rows, (u, v) => {
    const i = Math.round(v * rows);
    const before = line[Math.max(0, i - 1)];
    const after = line[Math.min(rows, i + 1)];
    const ahead = unit([0, 1, 2].map((k) => after[k] - before[k]));
    const side = unit(Math.abs(ahead[2]) < 0.9 ? [ahead[1], -ahead[0], 0] : [0, ahead[2], -ahead[1]]);
    const across = [
      ahead[1] * side[2] - ahead[2] * side[1],
      ahead[2] * side[0] - ahead[0] * side[2],
      ahead[0] * side[1] - ahead[1] * side[0],
    ];
    const turn = u * 2 * Math.PI;
    const r = radius(v);
    const at = [0, 1, 2].map((k) => line[i][k] + r * (Math.cos(turn) * side[k] + Math.sin(turn) * across[k]));
    return [at[0], at[1], at[2]];
  });
}

/** A block with eased edges, its middle at the origin. */
export function block(width: number, height: number, depth: number, ease = 2): Mesh {
  const half = [width / 2, height / 2, depth / 2];
  const position: number[] = [];
  const normal: number[] = [];
  const index: number[] = [];
  // Each side is a grid whose outermost rows lie on the eased edge: corners of a cube pushed onto a ball round an inner block.
  const steps = [-1, -1, -0.92, -0.7, 0.7, 0.92, 1, 1];
  const n = steps.length;
  for (let axis = 0; axis < 3; axis++) {
    for (const sign of [-1, 1]) {
      const first = position.length / 3;
      for (let i = 0; i < n; i++) {
        for (let j = 0; j < n; j++) {
          const [p, q] = [(axis + 1) % 3, (axis + 2) % 3];
          // How far round the edge, 0 flat to π/4.
          const round = (k: number) => (k <= 0 || k >= n - 1 ? Math.PI / 4 : k === 1 || k === n - 2 ? Math.PI / 8 : 0);
          const way = [0, 0, 0];
          way[axis] = sign;
          way[p] = Math.sign(steps[i]) * Math.tan(round(i));
          way[q] = Math.sign(steps[j]) * Math.tan(round(j));
          const out = unit(way);
          const inner = [0, 0, 0];
          inner[axis] = sign * (half[axis] - ease);
          inner[p] = place(i, n) * (half[p] - ease);
          inner[q] = place(j, n) * (half[q] - ease);
          for (let k = 0; k < 3; k++) {
            position.push(inner[k] + ease * out[k]);
            normal.push(out[k]);
          }
        }
      }
      for (let i = 0; i + 1 < n; i++) {
        for (let j = 0; j + 1 < n; j++) {
          const a = first + i * n + j;
          const quad = [a, a + n, a + 1, a + 1, a + n, a + n + 1];
          index.push(...(sign > 0 ? quad : quad.reverse()));
        }
      }
    }
  }
  return { position: Float32Array.from(position), normal: Float32Array.from(normal), index: Uint32Array.from(index) };
}

const place = (k: number, n: number): number => (k <= 2 ? -1 : k >= n - 3 ? 1 : ((k - 2) / (n - 5)) * 2 - 1);

function unit(v: readonly number[]): number[] {
  const length = Math.hypot(...v) || 1;
  return v.map((value) => value / length);
}

/** A curve through points (Catmull–Rom), so many steps between two; points given twice make a sharp corner. */
function throughPoints<Point extends readonly number[]>(points: readonly Point[], steps: number): number[][] {
  const out: number[][] = [];
  for (let i = 0; i + 1 < points.length; i++) {
    const at = (k: number) => points[Math.min(points.length - 1, Math.max(0, i + k))];
    const [a, b, c, d] = [at(-1), at(0), at(1), at(2)];
    for (let s = 0; s < steps; s++) {
      const t = s / steps;
      out.push(
        b.map(
          (_, k) =>
            b[k] +
            0.5 *
              t *
              (c[k] - a[k] + t * (2 * a[k] - 5 * b[k] + 4 * c[k] - d[k] + t * (3 * (b[k] - c[k]) + d[k] - a[k]))),
        ),
      );
    }
  }
  out.push([...points[points.length - 1]]);
  return out;
}

/** A flat sheet: corner, and the two ways that span it (first × second is its face). */
export function plane(
  corner: readonly [number, number, number],
  first: readonly [number, number, number],
  second: readonly [number, number, number],
): Mesh {
  return sheet(1, 1, (u, v) => {
    const at = [0, 1, 2].map((k) => corner[k] + u * first[k] + v * second[k]);
    return [at[0], at[1], at[2]];
  });
}

/** Floor and wall in one, with a hollow between them: a photographer's paper roll. */
export function sweep(width: number, front: number, back: number, radius: number, height: number): Mesh {
  const way: [number, number][] = [[front, 0]];
  const steps = 24;
  for (let i = 0; i <= steps; i++) {
    const t = (i / steps) * (Math.PI / 2);
    way.push([back - radius * Math.sin(t), radius * (1 - Math.cos(t))]);
  }
  way.push([back - radius, height]);
  return sheet(1, way.length - 1, (u, v) => {
    const [z, y] = way[Math.round(v * (way.length - 1))];
    return [(u - 0.5) * width, y, z];
  });
}

/** How a thing answers light; each has a part of `shaders/mockup.frag`. */
export type Stuff = 'plaster' | 'board' | 'glaze' | 'matte' | 'pages' | 'liquid' | 'face' | 'rim' | 'back' | 'glow';

export interface Thing {
  readonly mesh: Mesh | PaintedMesh;
  readonly stuff: Stuff;
  readonly place: Matrix;
  /** Linear rgb. */
  readonly color: Vector;
  /** GGX roughness. */
  readonly alpha: number;
  /** Width of the boards that it is glued up from; default one board. */
  readonly boardMm?: number;
  /** A simpler shape that throws its shadow; null throws none; by default the mesh itself. */
  readonly caster?: Mesh | null;
}

/** Where the camera can go: round a target, the front of the setting being azimuth 0. */
export interface Sight {
  readonly target: Vector;
  readonly distanceMm: number;
  readonly azimuthRad: number;
  readonly heightRad: number;
}

export interface Setting {
  /** Everything but the slab. */
  readonly things: readonly Thing[];
  /** Where the slab is. Its face looks along the second column. */
  readonly slabPlace: Matrix;
  readonly sight: Sight;
  /** Farthest the camera may go from its place: azimuth, and lowest and highest. */
  readonly reach: { readonly azimuthRad: number; readonly lowRad: number; readonly highRad: number };
  /** Where the light of the window comes from. */
  readonly window: Vector;
  /** Middle and radius of what takes and throws shadows. */
  readonly ball: { readonly centre: Vector; readonly radius: number };
}

export type SettingName = 'stand' | 'shelf' | 'cup' | 'wall' | 'bed';

export type MakeSetting = (slab: SlabShape) => Setting;
