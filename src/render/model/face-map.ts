import { encodeSrgbByte, srgbDecodingTable } from '../../base/color/srgb.ts';
import { fromHalfFloat } from '../../base/half-float.ts';
import type { Slab, SlabPhoto } from '../../piece/schema.ts';

/** A burned or unburned surface in swaths, as proofs and grounds come: see `burn/swath-task.ts` for the layouts. */
export interface SurfaceInSwaths {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly swaths: readonly {
    readonly y0: number;
    readonly rows: number;
    readonly color: Uint8Array;
    readonly relief: Uint16Array;
  }[];
}

export interface FaceParts {
  readonly widthMm: number;
  readonly heightMm: number;
  /** The whole slab before it was burned; its alpha is the share that is painted. */
  readonly ground: SurfaceInSwaths;
  /** The burned picture and where its middle lies from the slab's, y growing downwards; null for an unburned slab. */
  readonly proof: SurfaceInSwaths | null;
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly crop: 'rectangle' | 'oval';
  /** GGX roughness of top coat, undercoat and wood. */
  readonly alpha: { readonly top: number; readonly under: number; readonly wood: number };
  /** What bare wood looks like, where it was photographed. */
  readonly wood: WoodPicture | null;
}

/** The face of a slab over its bounding box, as pictures. */
export interface FaceMap {
  readonly width: number;
  readonly height: number;
  /** RGBA, sRGB; alpha 255. */
  readonly color: Uint8Array;
  /** RGBA: height, roughness (GGX alpha, slopes finer than a pixel included), share painted, 255. */
  readonly relief: Uint8Array;
  /** Heights of codes 0 and 255, µm. */
  readonly lowUm: number;
  readonly highUm: number;
}

/** Linear rgb, alpha, height and the squares of slopes, as values to be averaged. */
const CHANNELS = 8;

/** What a height code can tell apart at most, µm: beyond it (cracks) heights are cut off. */
const LOWEST_UM = -140;

const HIGHEST_UM = 60;

/** Darkest unburned wood that a factor is told from, linear. */
const LEAST_LIGHT = 0.004;

/** Draws ground and proof together as the view shows them (`shaders/paint.frag`), at `widthPx` over the slab's width. */
export function drawFace(parts: FaceParts, widthPx: number): FaceMap {
  const pixelMm = parts.widthMm / widthPx;
  const width = widthPx;
  const height = Math.max(1, Math.round(parts.heightMm / pixelMm));
  const color = new Uint8Array(width * height * 4).fill(255);
  const relief = new Uint8Array(width * height * 4).fill(255);
  const laidRows = resample(parts.ground, 0, 0, parts, pixelMm, width, height);
  const burnedRows =
    parts.proof && resample(parts.proof, parts.centreXMm, parts.centreYMm, parts, pixelMm, width, height);
  const inside = parts.proof ? cropCover(parts, parts.proof, pixelMm) : () => 0;
  const { alpha } = parts;
  const wood = parts.wood && woodSampler(parts.wood);
  const lowUm = LOWEST_UM;
  const highUm = HIGHEST_UM;
  for (let y = 0; y < height; y++) {
    const laid = laidRows.next().value as Float32Array;
    const burned = burnedRows?.next().value as Float32Array | undefined;
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const at = x * CHANNELS;
      const cover = inside(x, y);
      const mix = (k: number) => laid[at + k] + (burned ? cover * (burned[at + k] - laid[at + k]) : 0);
      const [r, g, b] = [mix(0), mix(1), mix(2)];
      const painted = laid[at + 3];
      const shown = [r, g, b];
      if (wood && painted < 1) {
        // What the beam does to the wood it does to the photographed wood too: by the same factor.
        const own = wood((x + 0.5) * pixelMm - parts.widthMm / 2, (y + 0.5) * pixelMm - parts.heightMm / 2, pixelMm);
        for (let k = 0; k < 3; k++) {
          const photographed = Math.min(1, (own[k] * shown[k]) / Math.max(laid[at + k], LEAST_LIGHT));
          shown[k] += (1 - painted) * (photographed - shown[k]);
        }
      }
      for (let k = 0; k < 3; k++) color[4 * i + k] = encodeSrgbByte(shown[k]);
      const far = Math.hypot(r - laid[at], g - laid[at + 1], b - laid[at + 2]);
      const open = Math.min(1, Math.max(0, 1.7 * far - 0.02));
      const coat = alpha.top + open * (alpha.under - alpha.top);
      const base = coat + (1 - painted) * (alpha.wood - coat);
      // Variances of slopes add to the roughness (M. Olano, D. Baker, "LEAN Mapping", I3D 2010).
      // The relief of photographed wood was photographed with it; that of the grown wood lies elsewhere and only roughens.
      const flat = wood ? painted : 1;
      const lost = Math.max(0, mix(7) - flat * flat * (mix(5) * mix(5) + mix(6) * mix(6)));
      const rough = Math.min(1, Math.sqrt(base * base + lost));
      relief[4 * i] = Math.round((255 * (clamp(flat * mix(4), lowUm, highUm) - lowUm)) / (highUm - lowUm));
      relief[4 * i + 1] = Math.round(255 * rough);
      relief[4 * i + 2] = Math.round(255 * painted);
    }
  }
  return { width, height, color, relief, lowUm, highUm };
}

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/** Share of a pixel that lies inside the picture's crop. */
function cropCover(parts: FaceParts, proof: SurfaceInSwaths, pixelMm: number): (x: number, y: number) => number {
  const a = (proof.width * proof.pitchMm) / 2;
  const b = (proof.height * proof.pitchMm) / 2;
  return (x, y) => {
    const u = (x + 0.5) * pixelMm - parts.widthMm / 2 - parts.centreXMm;
    const v = (y + 0.5) * pixelMm - parts.heightMm / 2 - parts.centreYMm;
    const level = Math.hypot(u / a, v / b);
    const distance =
      parts.crop === 'oval'
        ? (-level * (level - 1)) / Math.max(Math.hypot(u / a / a, v / b / b), 1e-6)
        : Math.min(a - Math.abs(u), b - Math.abs(v));
    return clamp(distance / pixelMm + 0.5, 0, 1);
  };
}

/** Rows of a surface by number. */
function rowFinder(surface: SurfaceInSwaths) {
  const swaths = [...surface.swaths].sort((one, other) => one.y0 - other.y0);
  return (y: number) => {
    const wanted = clamp(y, 0, surface.height - 1);
    const swath = swaths.find(({ y0, rows }) => wanted >= y0 && wanted < y0 + rows);
    if (!swath) throw new RangeError(`row ${wanted} of the surface is missing`);
    const from = (wanted - swath.y0) * surface.width;
    return {
      color: swath.color.subarray(4 * from, 4 * (from + surface.width)),
      relief: swath.relief.subarray(2 * from, 2 * (from + surface.width)),
    };
  };
}

function resample(
  surface: SurfaceInSwaths,
  centreXMm: number,
  centreYMm: number,
  { widthMm, heightMm }: FaceParts,
  pixelMm: number,
  width: number,
  height: number,
): Generator<Float32Array, void> {
  const linear = srgbDecodingTable(8);
  const { pitchMm } = surface;
  const rowAt = rowFinder(surface);
  const heights = new Map<number, Float32Array>();
  const heightRow = (y: number): Float32Array => {
    const wanted = clamp(y, 0, surface.height - 1);
    const known = heights.get(wanted);
    if (known) return known;
    const { relief } = rowAt(wanted);
    const row = Float32Array.from({ length: surface.width }, (_, x) => fromHalfFloat(relief[2 * x]));
    heights.set(wanted, row);
    heights.delete(wanted - 4);
    return row;
  };
  const last = surface.width - 1;
  const perUm = 1 / (2000 * pitchMm);
  return resizeRows(
    surface,
    { width, height },
    CHANNELS,
    {
      step: pixelMm / pitchMm,
      left: (-widthMm / 2 - centreXMm) / pitchMm + surface.width / 2,
      top: (-heightMm / 2 - centreYMm) / pitchMm + surface.height / 2,
    },
    (y, line) => {
      const { color } = rowAt(y);
      const [north, here, south] = [heightRow(y - 1), heightRow(y), heightRow(y + 1)];
      for (let x = 0; x < surface.width; x++) {
        const at = x * CHANNELS;
        for (let k = 0; k < 3; k++) line[at + k] = linear[color[4 * x + k]];
        line[at + 3] = color[4 * x + 3] / 255;
        line[at + 4] = here[x];
        const east = (here[Math.min(last, x + 1)] - here[Math.max(0, x - 1)]) * perUm;
        const down = (south[x] - north[x]) * perUm;
        line[at + 5] = east;
        line[at + 6] = down;
        line[at + 7] = east * east + down * down;
      }
    },
  );
}

/** Weights of source cells for each place of an axis: `count` of them from `first` on, a fixed number of taps a place. */
interface Axis {
  readonly first: Int32Array;
  readonly weights: Float32Array;
  readonly taps: number;
}

/**
 * Tent filter as wide as the coarser of the two grids: averages where the target is coarser, interpolates where it is finer.
 * Places in cells of the source: target cell i lies at `(i + 0.5) · step + offset`.
 */
function axis(places: number, step: number, offset: number): Axis {
  const reach = Math.max(1, step);
  const taps = Math.ceil(2 * reach) + 1;
  const first = new Int32Array(places);
  const weights = new Float32Array(places * taps);
  for (let i = 0; i < places; i++) {
    const centre = (i + 0.5) * step + offset - 0.5;
    const from = Math.ceil(centre - reach);
    first[i] = from;
    let sum = 0;
    for (let k = 0; k < taps; k++) {
      const weight = Math.max(0, 1 - Math.abs(from + k - centre) / reach);
      weights[i * taps + k] = weight;
      sum += weight;
    }
    for (let k = 0; k < taps; k++) weights[i * taps + k] /= sum;
  }
  return { first, weights, taps };
}

interface PlaneGrid {
  readonly width: number;
  readonly height: number;
}

interface Placement {
  /** Source cells per target cell. */
  readonly step: number;
  /** Source place of the target's left top corner, in cells. */
  readonly left: number;
  readonly top: number;
}

/**
 * Resamples interleaved values that are made row by row, so that a large source need never be there at once.
 * `row(y, out)` writes a source row of `width · channels` values; yields each target row, in a buffer that is used again.
 */
function* resizeRows(
  source: PlaneGrid,
  target: PlaneGrid,
  channels: number,
  { step, left, top }: Placement,
  row: (y: number, out: Float32Array) => void,
): Generator<Float32Array, void> {
  const across = axis(target.width, step, left);
  const down = axis(target.height, step, top);
  const made = new Map<number, Float32Array>();
  const spare: Float32Array[] = [];
  const line = new Float32Array(source.width * channels);
  const clampTo = (value: number, cells: number) => Math.min(cells - 1, Math.max(0, value));
  /** A source row squeezed to the target's width. */
  const narrow = (y: number): Float32Array => {
    const known = made.get(y);
    if (known) return known;
    row(y, line);
    const out = spare.pop() ?? new Float32Array(target.width * channels);
    out.fill(0);
    for (let x = 0; x < target.width; x++) {
      for (let k = 0; k < across.taps; k++) {
        const weight = across.weights[x * across.taps + k];
        if (weight === 0) continue;
        const at = clampTo(across.first[x] + k, source.width) * channels;
        for (let c = 0; c < channels; c++) out[x * channels + c] += weight * line[at + c];
      }
    }
    made.set(y, out);
    return out;
  };
  const values = new Float32Array(target.width * channels);
  for (let y = 0; y < target.height; y++) {
    values.fill(0);
    const from = down.first[y];
    for (const [key, rows] of made) {
      if (key >= clampTo(from, source.height)) continue;
      made.delete(key);
      spare.push(rows);
    }
    for (let k = 0; k < down.taps; k++) {
      const weight = down.weights[y * down.taps + k];
      if (weight === 0) continue;
      const squeezed = narrow(clampTo(from + k, source.height));
      for (let i = 0; i < values.length; i++) values[i] += weight * squeezed[i];
    }
    yield values;
  }
}

/** An 8-bit RGBA picture. */
export interface Rgba {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
}

/** Normals of the face from its heights: east, north, up over the codes, as glTF 2.0 (3.9.3) wants them. */
export function faceNormals({ width, height, relief, lowUm, highUm }: FaceMap, pixelMm: number): Rgba {
  const data = new Uint8Array(width * height * 4).fill(255);
  const perCode = (highUm - lowUm) / 255 / 1000 / (2 * pixelMm);
  const at = (x: number, y: number): number =>
    relief[4 * (Math.min(height - 1, Math.max(0, y)) * width + Math.min(width - 1, Math.max(0, x)))];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const east = (at(x + 1, y) - at(x - 1, y)) * perCode;
      const south = (at(x, y + 1) - at(x, y - 1)) * perCode;
      const length = Math.hypot(east, south, 1);
      const i = 4 * (y * width + x);
      data[i] = Math.round(127.5 - (127.5 * east) / length);
      data[i + 1] = Math.round(127.5 + (127.5 * south) / length);
      data[i + 2] = Math.round(127.5 + 127.5 / length);
    }
  }
  return { width, height, data };
}

/** Roughness of the face as glTF and USD take it, the root of the GGX alpha: in green, with no metal in blue. */
export function faceRoughness({ width, height, relief }: FaceMap): Rgba {
  const data = new Uint8Array(width * height * 4).fill(255);
  for (let i = 0; i < width * height; i++) {
    data[4 * i] = 0;
    data[4 * i + 1] = Math.round(255 * Math.sqrt(relief[4 * i + 1] / 255));
    data[4 * i + 2] = 0;
  }
  return { width, height, data };
}

/** Mirror reflection of a coat of index 1.5, which a proof's colours hold, as an instrument that includes it reads them. */
const MIRROR_SHARE = 0.04;

/** Colours without the mirror reflection, which a renderer adds itself. RGBA, sRGB. */
export function matteColors(color: Uint8Array): Uint8Array {
  const table = srgbDecodingTable(8);
  const matte = Uint8Array.from({ length: 256 }, (_, code) => encodeSrgbByte(Math.max(0, table[code] - MIRROR_SHARE)));
  return color.map((code, i) => (i % 4 === 3 ? code : matte[code]));
}

/** Steps in which the client's file tells roughness apart: nobody sees finer ones, and they would double its size. */
const ROUGHNESS_STEP = 6;

/** Heights and roughness of a face, as the client's file carries them. */
export function packedRelief({ width, height, relief }: FaceMap): Rgba {
  const data = relief.map((code, i) => {
    if (i % 4 === 1) return Math.min(255, Math.round(code / ROUGHNESS_STEP) * ROUGHNESS_STEP);
    return i % 4 === 2 ? 0 : code;
  });
  return { width, height, data };
}

/** A slab's own face and rim, photographed and laid flat; its west and north ends from the slab's centre, y growing downwards. */
export interface WoodPicture extends Rgba {
  readonly westMm: number;
  readonly northMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** Pixels across that a photograph of a slab is worth being drawn with. */
export const MOST_WOOD_PX = 2400;

/** The photograph that bare wood is shown by; null where it is shown as the model grows it. */
export const shownPhoto = ({ shape, photo }: Slab): SlabPhoto | null =>
  photo?.shown && shape === 'outline' ? photo : null;

/** Puts decoded pixels in their place on the slab. */
export const placeWood = ({ xMm, yMm, widthMm, heightMm }: SlabPhoto, pixels: Rgba): WoodPicture => ({
  ...pixels,
  westMm: xMm - widthMm / 2,
  northMm: yMm - heightMm / 2,
  widthMm,
  heightMm,
});

/** Tells the mean linear rgb over a square of the slab, mm. */
export function woodSampler({ width, height, data, westMm, northMm, widthMm, heightMm }: WoodPicture) {
  const linear = srgbDecodingTable(8);
  const perMm = width / widthMm;
  const downPerMm = height / heightMm;
  return (xMm: number, yMm: number, spanMm: number): [number, number, number] => {
    const across = Math.max(1, Math.round(spanMm * perMm));
    const x0 = Math.round((xMm - westMm) * perMm - across / 2);
    const y0 = Math.round((yMm - northMm) * downPerMm - across / 2);
    const sum: [number, number, number] = [0, 0, 0];
    for (let y = y0; y < y0 + across; y++) {
      const row = Math.min(height - 1, Math.max(0, y)) * width;
      for (let x = x0; x < x0 + across; x++) {
        const at = 4 * (row + Math.min(width - 1, Math.max(0, x)));
        for (let k = 0; k < 3; k++) sum[k] += linear[data[at + k]];
      }
    }
    const share = 1 / (across * across);
    return [sum[0] * share, sum[1] * share, sum[2] * share];
  };
}
