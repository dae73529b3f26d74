import type { Slab } from '../../piece/schema.ts';
import type { RowPlace } from '../film/laid-film.ts';
import { crackRow, knotCrack } from './checks.ts';
import { createGrain, type GroundRow } from './grain.ts';

export interface Ground {
  /** Fills a row. The same place always has the same wood, whatever the tiling. */
  row(place: RowPlace, out: GroundRow): void;
}

/** Grain is worked out this far apart and interpolated between: the finest of it is some 0.4 mm wide. */
const NODE_MM = 0.2;
/** A crack deeper than this shows dark wood at its bottom, µm. */
const DARK_CRACK_UM = 20;

/** The wood of a slab with its cracks. */
export function createGround(slab: Slab): Ground {
  const seed = (Math.imul(slab.grainSeed, 0x9e3779b1) ^ 0xc4ac) >>> 0;
  const grain = createGrain(slab);
  const cracks = [...slab.checks, ...slab.knots.map((knot) => knotCrack(knot, slab))].map((check, i) =>
    crackRow(check, (seed + 977 * i) >>> 0),
  );
  let depth = new Float32Array(0);
  let nodes: NodeRows | null = null;
  return {
    row(place, out) {
      if (place.pitchMm < NODE_MM) {
        if (!nodes?.covers(place, out.shade.length)) nodes = createNodeRows(grain, place, out.shade.length);
        nodes.row(place, out);
      } else {
        grain.row(place, out);
      }
      if (cracks.length === 0) return;
      if (depth.length !== out.shade.length) depth = new Float32Array(out.shade.length);
      depth.fill(0);
      for (const crack of cracks) crack(place.originXMm, place.yMm, place.pitchMm, depth);
      for (let i = 0; i < depth.length; i++) {
        out.reliefUm[i] -= depth[i];
        if (depth[i] > DARK_CRACK_UM) out.shade[i] = Math.max(out.shade[i], 1);
      }
    },
  };
}

interface NodeRows {
  covers(place: RowPlace, length: number): boolean;
  row(place: RowPlace, out: GroundRow): void;
}

/** Rows of nodes at whole multiples of the node distance on the slab, kept while rows of cells pass between two of them. */
function createNodeRows(
  grain: ReturnType<typeof createGrain>,
  { originXMm, pitchMm }: RowPlace,
  length: number,
): NodeRows {
  const first = Math.floor((originXMm + 0.5 * pitchMm) / NODE_MM);
  // One to spare: rounding may put the last place on the next node.
  const count = Math.floor((originXMm + (length - 0.5) * pitchMm) / NODE_MM) - first + 3;
  const make = (): GroundRow => ({
    reliefUm: new Float32Array(count),
    density: new Float32Array(count),
    shade: new Float32Array(count),
  });
  let upper = { index: Number.NaN, row: make() };
  let lower = { index: Number.NaN, row: make() };
  const fill = (kept: typeof upper, index: number) => {
    kept.index = index;
    // A cell's middle is half a cell from its edge: the first node is the middle of the first.
    grain.row({ originXMm: (first - 0.5) * NODE_MM, yMm: index * NODE_MM, pitchMm: NODE_MM }, kept.row);
  };
  return {
    covers: (place, cells) => place.originXMm === originXMm && place.pitchMm === pitchMm && cells === length,
    row({ yMm }, out) {
      const index = Math.floor(yMm / NODE_MM);
      if (upper.index !== index) {
        if (lower.index === index) [upper, lower] = [lower, upper];
        else fill(upper, index);
      }
      if (lower.index !== index + 1) fill(lower, index + 1);
      const down = yMm / NODE_MM - index;
      for (let i = 0; i < length; i++) {
        const at = (originXMm + (i + 0.5) * pitchMm) / NODE_MM - first;
        const node = at | 0;
        const a = (1 - (at - node)) * (1 - down);
        const b = (at - node) * (1 - down);
        const c = (1 - (at - node)) * down;
        const d = (at - node) * down;
        const [up, low] = [upper.row, lower.row];
        out.reliefUm[i] =
          a * up.reliefUm[node] + b * up.reliefUm[node + 1] + c * low.reliefUm[node] + d * low.reliefUm[node + 1];
        out.density[i] =
          a * up.density[node] + b * up.density[node + 1] + c * low.density[node] + d * low.density[node + 1];
        out.shade[i] = a * up.shade[node] + b * up.shade[node + 1] + c * low.shade[node] + d * low.shade[node + 1];
      }
    },
  };
}
