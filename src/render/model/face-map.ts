import { encodeSrgbByte } from '../../base/color/srgb.ts';
import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import { fromHalfFloat } from '../../base/half-float.ts';
import { resizeRows } from './resize-planes.ts';
import { type WoodPicture, woodSampler } from './wood-picture.ts';

/** A burned or unburned surface in strips, as proofs and grounds come: see `burn/strip-task.ts` for the layouts. */
export interface StrippedSurface {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly strips: readonly {
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
  readonly ground: StrippedSurface;
  /** The burned picture and where its middle lies from the slab's, y growing downwards; null for an unburned slab. */
  readonly proof: StrippedSurface | null;
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
function cropCover(parts: FaceParts, proof: StrippedSurface, pixelMm: number): (x: number, y: number) => number {
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
function rowFinder(surface: StrippedSurface) {
  const strips = [...surface.strips].sort((one, other) => one.y0 - other.y0);
  return (y: number) => {
    const wanted = clamp(y, 0, surface.height - 1);
    const strip = strips.find(({ y0, rows }) => wanted >= y0 && wanted < y0 + rows);
    if (!strip) throw new RangeError(`row ${wanted} of the surface is missing`);
    const from = (wanted - strip.y0) * surface.width;
    return {
      color: strip.color.subarray(4 * from, 4 * (from + surface.width)),
      relief: strip.relief.subarray(2 * from, 2 * (from + surface.width)),
    };
  };
}

function resample(
  surface: StrippedSurface,
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
