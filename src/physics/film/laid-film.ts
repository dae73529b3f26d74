import { hashToNormal, hashToUnit } from '../../base/random/generator.ts';
import { umToMm } from '../../base/units.ts';
import type { Application, Coat, FoundFilm, Slab, Stack } from '../../piece/schema.ts';
import { unpackTiles } from '../../piece/tiles.ts';
import { createFace, type Face } from '../raster/face.ts';
import { addSmoothRow, type FilmNoise, filmRowUm, unitSpline } from './film.ts';
import { fanMean, fanThickness } from './spray-fan.ts';

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
 * Bristle marks, long along the stroke, after they have levelled (Orchard 1962, see `laid-film.ts`). Layers add their marks at
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

type Sprayed = Extract<Application, { kind: 'sprayed' }>;

/** Distance over which a hand keeps its place and speed, mm (estimate; calibrate). */
const HAND_SCALE_MM = 90;

/** Extra paint where the trigger is worked over the edge, and how far it reaches in fan widths (estimate; calibrate). */
const TRIGGER_EXTRA = 0.35;

const TRIGGER_REACH = 0.2;

/** Reach of a fan from its middle in fan widths, beyond which no profile leaves anything that counts. */
const FAN_REACH = 1.25;

/** Smooth random number of unit variance along a stroke. */
function alongStroke(seed: number, stroke: number, uMm: number): number {
  const u = uMm / HAND_SCALE_MM;
  const base = Math.floor(u);
  const weights = unitSpline(u - base);
  let sum = 0;
  for (let k = 0; k < 4; k++) sum += weights[k] * hashToNormal(seed, base - 1 + k, stroke);
  return sum;
}

/**
 * Thickness over its mean at a place on the slab (mm from its centre, y towards the maker) that parallel strokes of a spray fan
 * leave: `Σ_m fan((v − m·s − wobble) / W) / speed`, s = W (1 − overlap), over the mean of an endless even spray. Seeded; belongs to
 * the place, so it is the same at any tiling. Sources of the fan's profiles in `spray-fan.ts`.
 * `halfSpanMm`: half the slab's length along the stroke through that place, for what the trigger leaves.
 */
function sprayedShare(spray: Sprayed, seed: number, xMm: number, yMm: number, halfSpanMm: number): number {
  const { fan, fanWidthMm, overlap, headingRad, wobbleMm, speedVariation } = spray;
  const cosine = Math.cos(headingRad);
  const sine = Math.sin(headingRad);
  const u = xMm * cosine - yMm * sine;
  const v = xMm * sine + yMm * cosine;
  const spacing = fanWidthMm * (1 - overlap);
  const start = hashToUnit(seed, 0, 0) * spacing;
  const reach = FAN_REACH * fanWidthMm + 4 * wobbleMm;
  const first = Math.ceil((v - start - reach) / spacing);
  const last = Math.floor((v - start + reach) / spacing);
  let sum = 0;
  for (let stroke = first; stroke <= last; stroke++) {
    const lateral = wobbleMm > 0 ? wobbleMm * alongStroke(seed ^ 0x11f3, stroke, u) : 0;
    const speed = speedVariation > 0 ? Math.max(0.3, 1 + speedVariation * alongStroke(seed ^ 0x2b87, stroke, u)) : 1;
    sum += fanThickness(fan, (v - start - stroke * spacing - lateral) / fanWidthMm) / speed;
  }
  const even = (sum * (1 - overlap)) / fanMean(fan);
  if (spray.ends === 'outside') return even;
  const fromEnd = Math.max(0, halfSpanMm - Math.abs(u));
  return even * (1 + TRIGGER_EXTRA * Math.exp(-fromEnd / (TRIGGER_REACH * fanWidthMm)));
}

/**
 * How fast ripples in a wet film flow flat under surface tension: a wave of the surface shrinks as `a(t) = a0·exp(−t/τ)`,
 * `τ = 3·η·λ⁴ / (16·π⁴·σ·h³)`. For a film thin against the wave (2πh/λ ≪ 1), Newtonian paint, a flat ground and no drying;
 * real paint thickens while it levels, so this is the quickest it can be. Sources: S. E. Orchard 1962 (value from memory); the
 * same with λ/2π in S. Abbott, Practical Coatings, "Levelling". Checked in `test/reference/paint-build.test.ts`.
 */
interface WetFilm {
  /** Viscosity η at rest, Pa·s. */
  readonly viscosityPaS: number;
  /** Length λ of the wave, mm. */
  readonly wavelengthMm: number;
  /** Surface tension σ, N/m. */
  readonly tensionNPerM: number;
  /** Mean wet thickness h, µm. */
  readonly wetUm: number;
}

/** λ⁴/h³ is a length: in mm it is a thousand times what the other units, in metres, ask for. */
const M_PER_MM = 1e-3;

/**
 * Time τ in s in which a wave falls to 1/e of its height.
 * @throws RangeError if a value is not above 0.
 */
export function levellingTimeS({ viscosityPaS, wavelengthMm, tensionNPerM, wetUm }: WetFilm): number {
  for (const [name, value] of Object.entries({ viscosityPaS, wavelengthMm, tensionNPerM, wetUm })) {
    if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`${name} must be a number > 0, got ${value}`);
  }
  const lengthM = (M_PER_MM * wavelengthMm ** 4) / umToMm(wetUm) ** 3;
  return (3 * viscosityPaS * lengthM) / (16 * Math.PI ** 4 * tensionNPerM);
}

/**
 * Share of a wave's height that is left after the time the paint stays open, `exp(−t/τ)`: 1 nothing levelled, 0 flat.
 * @throws RangeError for a negative or endless open time, or a levelling time that is not above 0.
 */
export function unlevelledShare(openTimeS: number, levellingTimeS: number): number {
  if (!(openTimeS >= 0 && Number.isFinite(openTimeS))) throw new RangeError(`open time ${openTimeS} s is not ≥ 0`);
  if (!(levellingTimeS > 0)) throw new RangeError(`levelling time ${levellingTimeS} s is not > 0`);
  return Math.exp(-openTimeS / levellingTimeS);
}

/**
 * How a coat follows the relief it is laid on. Wet, it levels short waves (Orchard); as it dries it shrinks more where it is
 * deeper, so that the share 1 − VS of the relief is printed into its surface again (physics: each valley holds VS · depth more
 * dry film; value from memory). Layers repeat it; sanding takes most of the rest off.
 */

/** Wavelength of wood grain under paint, mm (estimate), and the time a sprayed film flows when nothing else is known. */
const GRAIN_MM = 0.9;

const OPEN_TIME_S = 60;

const VISCOSITY_PA_S = 1;

/** Surface tension of paint, N/m: 0.02–0.04, value from memory. */
const PAINT_TENSION_N_PER_M = 0.03;

/** Share of the relief that rubbing down leaves (estimate). */
const AFTER_SANDING = 0.2;

/** Share of the ground's relief that the coat's dry surface still has, 0–1. */
export function telegraphedShare(coat: Coat): number {
  const solids = coat.volumeSolids / (1 + coat.thinnerShare);
  const wetUm = coat.dryThicknessUm / coat.layers / solids;
  if (!(wetUm > 0)) return 1;
  const { application } = coat;
  const timeS = levellingTimeS({
    viscosityPaS: application.kind === 'brushed' ? application.viscosityPaS : VISCOSITY_PA_S,
    wavelengthMm: GRAIN_MM,
    tensionNPerM: PAINT_TENSION_N_PER_M,
    wetUm,
  });
  const levelled = 1 - unlevelledShare(application.kind === 'brushed' ? application.openTimeS : OPEN_TIME_S, timeS);
  return (1 - levelled * solids) ** coat.layers * (coat.sandedAfter ? AFTER_SANDING : 1);
}

/** A film is never scraped or drained thinner than this over a peak, nor does it pool thicker, over its mean. */
const THINNEST = 0.15;

const THICKEST = 2.5;

/**
 * Lays a coat's row over a relief: adds to each film in µm what the relief makes of it and leaves in `reliefUm` the relief of the new
 * surface. Both in place.
 */
export function layOverRelief(filmUm: Float32Array, reliefUm: Float32Array, meanUm: number, share: number): void {
  const low = -(1 - THINNEST) * meanUm;
  const high = (THICKEST - 1) * meanUm;
  const gain = share - 1;
  for (let i = 0; i < filmUm.length; i++) {
    const wanted = gain * reliefUm[i];
    const added = Math.min(high, Math.max(low, wanted));
    const before = filmUm[i];
    const after = Math.max(0, before + added);
    filmUm[i] = after;
    reliefUm[i] += after - before;
  }
}

/** Length of the row that is laid to ask for a single place, mm. */
const CELL_MM = 0.05;

/**
 * Thickness of the topmost coat over its mean at single places of the slab, mm from its centre, y towards the maker: how it was laid and
 * what was found of it, without what the grain prints through. 1 everywhere on bare wood.
 */
export function createFilmAt(slab: Slab, stack: Stack): (xMm: number, yMm: number) => number {
  const [top] = stack.coats;
  if (!top || top.dryThicknessUm <= 0) return () => 1;
  const face = createFace(slab);
  const correct = stack.film.found ? createFoundFilm(stack.film.found) : null;
  const row = new Float32Array(1);
  return (xMm, yMm) => {
    const place = { originXMm: xMm - CELL_MM / 2, yMm, pitchMm: CELL_MM };
    coatRowUm(top, 0, stack.film, slab, place, row, face);
    correct?.(place, row);
    return row[0] / top.dryThicknessUm;
  };
}

/** The byte of a tile that says "as thick as expected"; a factor is the byte over it. */
export const FOUND_AS_EXPECTED = 128;

/** Multiplies rows of a film by what was found: bilinear between the middles of the tiles, held to the edge of the outermost, 1 beyond. */
export function createFoundFilm(found: FoundFilm): (place: RowPlace, filmUm: Float32Array) => void {
  const { xMm, yMm, pitchMm, tiles } = found;
  const { columns, rows } = tiles;
  const factors = Float32Array.from(unpackTiles(tiles), (byte) => byte / FOUND_AS_EXPECTED);
  const at = (column: number, row: number) =>
    factors[Math.min(rows - 1, Math.max(0, row)) * columns + Math.min(columns - 1, Math.max(0, column))];
  return (place, filmUm) => {
    const down = (place.yMm - yMm) / pitchMm;
    if (down < 0 || down >= rows) return;
    const row = Math.floor(down - 0.5);
    const lower = down - 0.5 - row;
    for (let i = 0; i < filmUm.length; i++) {
      const along = (place.originXMm + (i + 0.5) * place.pitchMm - xMm) / pitchMm;
      if (along < 0 || along >= columns) continue;
      const column = Math.floor(along - 0.5);
      const right = along - 0.5 - column;
      const above = at(column, row) + right * (at(column + 1, row) - at(column, row));
      const below = at(column, row + 1) + right * (at(column + 1, row + 1) - at(column, row + 1));
      filmUm[i] *= above + lower * (below - above);
    }
  };
}
