import type { Coat, Slab } from '../../piece/schema.ts';
import { createFace, type Face } from '../raster/face.ts';
import { addSmoothRow, type FilmNoise, filmRowUm } from './film.ts';
import { levellingTimeS, unlevelledShare } from './levelling.ts';
import { sprayedShare } from './spray-film.ts';
import { PAINT_TENSION_N_PER_M } from './telegraph.ts';

/** Where a row of cells lies: x of its first edge and y of its middle from the slab's centre, cell size; mm. */
export interface RowPlace {
  readonly originXMm: number;
  readonly yMm: number;
  readonly pitchMm: number;
}

/**
 * One row of a coat's dry thickness in µm: what its way of being put on leaves, times what no stroke explains. The same place always
 * gets the same film, whatever the tiling. `index` is the coat's place in the stack.
 */
export function coatRowUm(
  coat: Coat,
  index: number,
  film: FilmNoise,
  slab: Slab,
  place: RowPlace,
  out: Float32Array,
  face: Face = createFace(slab),
): Float32Array {
  const { originXMm, yMm, pitchMm } = place;
  filmRowUm(film, index, coat.dryThicknessUm, coat.slowVariation, coat.fineVariation, originXMm, yMm, pitchMm, out);
  // Where strokes and marks come to lie is no better known than the rest; a bead along the rim is.
  if (film.shown === 'mean' && coat.application.kind !== 'poured') return out;
  const share = laidShares(coat, (film.seed + 7919 * index + 104729) >>> 0, slab, face, place, out.length);
  if (share) for (let i = 0; i < out.length; i++) out[i] *= share[i];
  return out;
}

/** Thickness over its mean along a row; null where it is 1 everywhere. */
function laidShares(
  coat: Coat,
  seed: number,
  slab: Slab,
  face: Face,
  place: RowPlace,
  length: number,
): Float32Array | null {
  switch (coat.application.kind) {
    case 'even':
      return null;
    case 'sprayed':
      return sprayedRow(coat, seed, slab, place, length);
    case 'brushed':
      return brushedRow(coat, seed, place, length);
    case 'poured':
      return pouredRow(coat, face, place, length);
  }
}

/** Distance between the places where a spray is worked out; a fan is many times wider. Between them it is interpolated. */
const NODE_MM = 2;
const NODE_ROWS_KEPT = 64;
const nodeRows = new Map<string, Float32Array>();

/** Each layer of the coat is a round of strokes of its own; together they even out. */
function sprayedRow(coat: Coat, seed: number, slab: Slab, place: RowPlace, length: number): Float32Array {
  const { originXMm, yMm, pitchMm } = place;
  const firstNode = Math.floor((originXMm + 0.5 * pitchMm) / NODE_MM);
  const nodes = Math.floor((originXMm + (length - 0.5) * pitchMm) / NODE_MM) - firstNode + 3;
  const key = JSON.stringify([
    coat.application,
    coat.layers,
    seed,
    slab.shape,
    slab.widthMm,
    slab.heightMm,
    firstNode,
    nodes,
  ]);
  const nodeY = Math.floor(yMm / NODE_MM);
  const upper = nodeRow(`${key}${nodeY}`, () => sprayNodes(coat, seed, slab, firstNode, nodeY, nodes));
  const lower = nodeRow(`${key}${nodeY + 1}`, () => sprayNodes(coat, seed, slab, firstNode, nodeY + 1, nodes));
  const down = yMm / NODE_MM - nodeY;
  const row = new Float32Array(length);
  for (let i = 0; i < length; i++) {
    const at = (originXMm + (i + 0.5) * pitchMm) / NODE_MM - firstNode;
    const node = Math.floor(at);
    const along = at - node;
    const above = upper[node] + (upper[node + 1] - upper[node]) * along;
    const below = lower[node] + (lower[node + 1] - lower[node]) * along;
    row[i] = above + (below - above) * down;
  }
  return row;
}

function nodeRow(key: string, make: () => Float32Array): Float32Array {
  let row = nodeRows.get(key);
  if (!row) {
    if (nodeRows.size >= NODE_ROWS_KEPT) nodeRows.clear();
    row = make();
    nodeRows.set(key, row);
  }
  return row;
}

function sprayNodes(
  coat: Coat,
  seed: number,
  slab: Slab,
  firstNode: number,
  nodeY: number,
  nodes: number,
): Float32Array {
  const { application, layers } = coat;
  const row = new Float32Array(nodes);
  if (application.kind !== 'sprayed') return row;
  for (let i = 0; i < nodes; i++) {
    const x = (firstNode + i) * NODE_MM;
    const y = nodeY * NODE_MM;
    const half = halfSpanMm(slab, application.headingRad, x, y);
    for (let layer = 0; layer < layers; layer++) {
      row[i] += sprayedShare(application, seed + 7907 * layer, x, y, half) / layers;
    }
  }
  return row;
}

/** Half the length of the slab along a heading, through a place; mm. A free outline is sprayed like the oval in its box. */
function halfSpanMm(slab: Slab, headingRad: number, xMm: number, yMm: number): number {
  const cosine = Math.cos(headingRad);
  const sine = Math.sin(headingRad);
  const v = xMm * sine + yMm * cosine;
  const a = slab.widthMm / 2;
  const b = slab.heightMm / 2;
  // Extent of the ellipse along u at its width v: its half axes seen along and across the heading.
  const across = Math.hypot(a * sine, b * cosine);
  const along =
    slab.shape !== 'rectangle'
      ? (a * b) / across
      : Math.min(a / Math.max(Math.abs(cosine), 1e-9), b / Math.max(Math.abs(sine), 1e-9));
  return slab.shape !== 'rectangle' ? along * Math.sqrt(Math.max(0, 1 - (v / across) ** 2)) : along;
}

/**
 * Bristle marks, long along the stroke, after they have levelled (Orchard 1962, see `levelling.ts`). Layers add their marks at
 * random: the share falls with the root of their number.
 */
function brushedRow(coat: Coat, seed: number, place: RowPlace, length: number): Float32Array | null {
  const { application: brush, layers } = coat;
  if (brush.kind !== 'brushed') return null;
  const wetUm = (coat.dryThicknessUm / layers) * ((1 + coat.thinnerShare) / coat.volumeSolids);
  const gain = (brush.markShare / Math.sqrt(layers)) * remainingMarks(coat, wetUm);
  if (!(gain > 0)) return null;
  const row = new Float32Array(length);
  const longMm = 40 * brush.markSpacingMm;
  // A mark is a crest and a trough: half a spacing between lattice points.
  const fineMm = brush.markSpacingMm / 2;
  const [alongX, alongY] = brush.along === 'width' ? [longMm, fineMm] : [fineMm, longMm];
  addSmoothRow(row, seed, place.originXMm, place.yMm, place.pitchMm, alongX, gain, alongY);
  for (let i = 0; i < length; i++) row[i] = Math.max(0, 1 + row[i]);
  return row;
}

/** Share of the brush's marks that is left when the paint no longer flows, 0–1. */
export function remainingMarks(coat: Coat, wetUm: number): number {
  const { application: brush } = coat;
  if (brush.kind !== 'brushed' || wetUm <= 0) return 1;
  const timeS = levellingTimeS({
    viscosityPaS: brush.viscosityPaS,
    wavelengthMm: brush.markSpacingMm,
    tensionNPerM: PAINT_TENSION_N_PER_M,
    wetUm,
  });
  return unlevelledShare(brush.openTimeS, timeS);
}

/** Poured or dipped: even, with a bead along the rim. */
function pouredRow(coat: Coat, face: Face, place: RowPlace, length: number): Float32Array | null {
  const { application: pour } = coat;
  if (pour.kind !== 'poured') return null;
  const row = new Float32Array(length);
  for (let i = 0; i < length; i++) {
    const inMm = face.rimDistanceMm(place.originXMm + (i + 0.5) * place.pitchMm, place.yMm);
    row[i] = 1 + pour.beadShare * Math.exp(-Math.max(0, inMm) / pour.beadWidthMm);
  }
  return row;
}
