import type { Check, Knot, Slab, Stack } from '../../piece/schema.ts';
import { addSmoothRow } from '../film/film.ts';
import { coatRowUm, createFoundFilm, layOverRelief, type RowPlace, telegraphedShare } from '../film/laid-film.ts';
import { createFace, type Face } from '../raster/face.ts';
import { createGrain, type GroundRow } from '../wood/grain.ts';

/** One row of a slab as it lies ready for the burn; arrays of the row's length. */
interface StackRow {
  /** Dry thickness per coat, topmost first, µm. */
  readonly filmUm: readonly Float32Array[];
  /** The bare face, see `physics/material/laid-stack.ts`. */
  readonly reliefUm: Float32Array;
  readonly density: Float32Array;
  readonly shade: Float32Array;
}

/** Lays the coats of a stack on the wood of a slab. */
export interface StackLayer {
  row(place: RowPlace, out: StackRow): void;
}

/** Distance over which paint that crept under a tape comes and goes, mm (estimate). */
const SEEP_MM = 3;

/**
 * From the undercoat up each coat is laid as it was put on, thicker in the ground's valleys and thinner on its peaks; the topmost is
 * corrected by what was found; a taped rim stays bare but for what seeped under the tape.
 */
export function createStackLayer(slab: Slab, stack: Stack): StackLayer {
  const ground = createGround(slab);
  const face = createFace(slab);
  const shares = stack.coats.map(telegraphedShare);
  const correct = stack.film.found && stack.coats.length > 0 ? createFoundFilm(stack.film.found) : null;
  let surface = new Float32Array(0);
  return {
    row(place, out) {
      ground.row(place, out);
      if (surface.length !== out.reliefUm.length) surface = new Float32Array(out.reliefUm.length);
      surface.set(out.reliefUm);
      for (let i = stack.coats.length - 1; i >= 0; i--) {
        coatRowUm(stack.coats[i], i, stack.film, slab, place, out.filmUm[i], face);
        layOverRelief(out.filmUm[i], surface, stack.coats[i].dryThicknessUm, shares[i]);
      }
      correct?.(place, out.filmUm[0]);
      if (slab.maskedRimMm > 0) bareRim(slab, face, stack, place, out.filmUm);
    },
  };
}

function bareRim(slab: Slab, face: Face, stack: Stack, place: RowPlace, filmUm: readonly Float32Array[]): void {
  const { originXMm, yMm, pitchMm } = place;
  const length = filmUm[0]?.length ?? 0;
  const seep = new Float32Array(length);
  if (slab.seepMm > 0) {
    addSmoothRow(seep, (stack.film.seed ^ 0x5eeb) >>> 0, originXMm, yMm, pitchMm, SEEP_MM, 0.8);
    addSmoothRow(seep, (stack.film.seed ^ 0x5eec) >>> 0, originXMm, yMm, pitchMm, SEEP_MM / 4, 0.35);
  }
  for (let i = 0; i < length; i++) {
    const inMm = face.rimDistanceMm(originXMm + (i + 0.5) * pitchMm, yMm);
    const edgeMm = slab.maskedRimMm - slab.seepMm * Math.max(0, seep[i]);
    if (inMm < edgeMm) for (const film of filmUm) film[i] = 0;
  }
}

/** Depth of the cracks along a row of places, µm, added to `out`. */
type CrackRow = (originXMm: number, yMm: number, pitchMm: number, out: Float32Array) => void;

/** What a filler sinks in as it dries, share of the crack's depth and at most, µm (estimates). */
const FILLER_SINK = 0.004;

const FILLER_SINK_UM = 6;

/** A knot that is not filled has dried more than the wood round it and shows a crack across (common practice, no published source). */
const knotCrack = (knot: Knot, slab: Slab): Check => {
  const outwards = Math.atan2(knot.yMm - slab.pithYMm, knot.xMm - slab.pithXMm);
  const heading = slab.cut === 'plank' ? 0.35 : outwards + 0.2;
  return {
    xMm: knot.xMm,
    yMm: knot.yMm,
    lengthMm: 0.95 * knot.diameterMm,
    headingRad: ((heading % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI),
    widthMm: Math.max(0.25, knot.diameterMm / 22),
    depthMm: 0.8,
    filled: knot.filled,
  };
};

/** A crack as a V whose width and depth run out towards its ends; it wavers a little about its line. */
export function crackRow(check: Check, seed: number): CrackRow {
  const cosine = Math.cos(check.headingRad);
  const sine = Math.sin(check.headingRad);
  const half = check.lengthMm / 2;
  const depthUm = check.filled
    ? Math.min(FILLER_SINK_UM, 1000 * check.depthMm * FILLER_SINK)
    : Math.min(1000 * check.depthMm, 5000);
  const waver = 0.6 * check.widthMm + 0.012 * check.lengthMm;
  const phase = (seed % 628) / 100;
  return (originXMm, yMm, pitchMm, out) => {
    for (let i = 0; i < out.length; i++) {
      const dx = originXMm + (i + 0.5) * pitchMm - check.xMm;
      const dy = yMm - check.yMm;
      const along = (dx * cosine + dy * sine) / half;
      if (along <= -1 || along >= 1) continue;
      const bend = waver * (Math.sin(5.1 * along + phase) * 0.6 + Math.sin(13.7 * along + 2 * phase) * 0.25);
      const across = Math.abs(-dx * sine + dy * cosine - bend);
      const open = 1 - along * along;
      const width = 0.5 * check.widthMm * open;
      if (across < width) out[i] += depthUm * open * (1 - across / width);
    }
  };
}

interface Ground {
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
