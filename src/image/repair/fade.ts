import { decodeSrgb, encodeSrgb } from '../../base/color/srgb.ts';
import { type EncodedPixels, readCoverage } from '../linearise.ts';
import type { Picture } from '../picture.ts';

interface FadeOptions {
  /** Share of the result against the picture as it was, 0–1. */
  readonly amount: number;
  /** Shares of the picture that may become plain black and plain white, 0–0.5. */
  readonly blackShare: number;
  readonly whiteShare: number;
  /**
   * 1: the middle tone (median) keeps its lightness; 0: it keeps its place between black and white point, as the stretch alone has
   * it; between: between.
   */
  readonly keepMiddle: number;
}

const FADE_DEFAULTS: FadeOptions = { amount: 1, blackShare: 0.002, whiteShare: 0.002, keepMiddle: 1 };

/** What was found, to be shown: lightness 0–1. */
interface FadePoints {
  readonly black: number;
  readonly white: number;
  readonly middle: number;
  /** The middle tone between black and white point is raised to 1 / gamma: above 1 lightens. 0.4–2.5. */
  readonly gamma: number;
}

/** Black and white point closer than this are a flat picture, of which nothing is made. */
const FLAT = 0.02;

const GAMMA_LIMIT = 2.5;

/**
 * Finds the points of a faded picture. For lightness x the repair is y = ((x − black) / (white − black))^(1/gamma), held in 0–1,
 * and gamma such that the middle tone comes out where it is wanted. Common practice (levels), no published source.
 * Test: a planted fade (test/unit/repair-tones.test.ts). A flat picture gets points 0 and 1 and gamma 1, which change nothing.
 */
export function findFade(
  plane: Float32Array,
  options: Partial<FadeOptions> = {},
  mask: Uint8Array | null = null,
): FadePoints {
  const { blackShare, whiteShare, keepMiddle } = { ...FADE_DEFAULTS, ...options };
  const [black, middle, white] = findPercentiles(plane, [blackShare, 0.5, 1 - whiteShare], mask);
  if (!(white - black >= FLAT)) return { black: 0, white: 1, middle, gamma: 1 };
  const stretched = Math.min(0.98, Math.max(0.02, (middle - black) / (white - black)));
  const wanted = Math.min(0.98, Math.max(0.02, stretched + keepMiddle * (middle - stretched)));
  const gamma = Math.log(stretched) / Math.log(wanted);
  return { black, white, middle, gamma: Math.min(GAMMA_LIMIT, Math.max(1 / GAMMA_LIMIT, gamma)) };
}

const CELLS = 8192;

/**
 * Gives a faded picture its black and white back.
 * @param plane lightness 0–1, row-major; not-a-number counts as 0.
 * @param mask dots with 0 do not count in the search.
 * @returns a new plane and the points found.
 *
 */
export function repairFade(
  plane: Float32Array,
  width: number,
  height: number,
  options: Partial<FadeOptions> = {},
  mask: Uint8Array | null = null,
): { plane: Float32Array; points: FadePoints } {
  const { amount } = { ...FADE_DEFAULTS, ...options };
  const points = findFade(plane, options, mask);
  const table = Float32Array.from({ length: CELLS + 1 }, (_, i) => {
    const x = i / CELLS;
    return x + amount * (liftFade(x, points) - x);
  });
  const out = new Float32Array(plane.length);
  for (let y = 0; y < height; y++) {
    for (let i = y * width, end = i + width; i < end; i++) {
      const place = plane[i] * CELLS;
      const cell = place | 0;
      if (place > 0 && place < CELLS) out[i] = table[cell] + (table[cell + 1] - table[cell]) * (place - cell);
      else out[i] = place >= CELLS ? table[CELLS] : table[0];
    }
  }
  return { plane: out, points };
}

/** The repair of one lightness. */
export function liftFade(lightness: number, { black, white, gamma }: FadePoints): number {
  const inside = Math.min(1, Math.max(0, (lightness - black) / (white - black)));
  return inside ** (1 / gamma);
}

/** Difference of a pixel's channels, share of their range, from which a picture counts as one in colour. */
const COLOURED = 0.02;

const LOOKED_AT = 4000;

/** The picture without its cast; null for one that is grey, which has none. */
export function castlessPicture(pixels: EncodedPixels): Picture | null {
  const { channels, data } = pixels;
  if (channels < 3) return null;
  const full = data instanceof Uint16Array ? 65535 : 255;
  const count = data.length / channels;
  const step = Math.max(1, Math.floor(count / LOOKED_AT));
  for (let i = 0; i < count; i += step) {
    const at = i * channels;
    const [low, high] = [
      Math.min(data[at], data[at + 1], data[at + 2]),
      Math.max(data[at], data[at + 1], data[at + 2]),
    ];
    if (high - low > COLOURED * full) return repairCast(pixels).picture;
  }
  return null;
}

/** A colour picture as three planes of linear sRGB, 0–1, row-major. */
interface LinearColor {
  readonly width: number;
  readonly height: number;
  readonly red: Float32Array;
  readonly green: Float32Array;
  readonly blue: Float32Array;
  readonly alpha: Float32Array | null;
}

export interface CastOptions {
  /** Share of the correction, 0–1. */
  readonly amount: number;
  /** Shares of each colour's values that may be clipped at its dark and at its light end, 0–0.5. */
  readonly blackShare: number;
  readonly whiteShare: number;
}

const CAST_DEFAULTS: CastOptions = { amount: 1, blackShare: 0.002, whiteShare: 0.002 };

/** What was found for one colour, encoded sRGB 0–1. */
interface CastPoints {
  readonly black: number;
  readonly white: number;
}

interface CastRepair {
  /** Luminance after the correction, for everything that follows. */
  readonly picture: Picture;
  /** Red, green, blue; one for a grey picture. */
  readonly points: readonly CastPoints[];
}

/** Bins of the encoded value for planes and 16-bit codes. */
const BINS = 4096;

/**
 * Takes the cast of a yellowed or reddened print away before its luminance is taken: in each colour by itself the black and the
 * white point are found and drawn apart to 0 and 1 in encoded sRGB, so that a tone counts as light as it was when the dyes were fresh.
 * Also undoes plain fading. A grey picture has its one colour stretched. Common practice (levels per channel), no published source.
 * Test: planted casts on photographs (test/unit/repair-tones.test.ts). A colour whose points lie closer than 0.02 is left alone.
 * @param pixels decoder's bytes (see `EncodedPixels`) or linear planes; transparent pixels do not count in the search.
 * @throws RangeError if encoded data do not have width × height × channels values.
 */
export function repairCast(pixels: EncodedPixels | LinearColor, options: Partial<CastOptions> = {}): CastRepair {
  return 'data' in pixels ? repairEncoded(pixels, options) : repairLinear(pixels, options);
}

function repairEncoded(pixels: EncodedPixels, options: Partial<CastOptions>): CastRepair {
  const { width, height, channels, data } = pixels;
  const colors = channels < 3 ? 1 : 3;
  const codes = data instanceof Uint16Array ? 65536 : 256;
  const tables: Float32Array[] = [];
  const points: CastPoints[] = [];
  const alpha = readCoverage(pixels);
  for (let k = 0; k < colors; k++) {
    const counts = new Float64Array(codes);
    for (let i = k, at = 0; i < data.length; i += channels, at++)
      if (alpha === null || alpha[at] > 0) counts[data[i]]++;
    const found = pointsOf(counts, options);
    points.push(found);
    const change = corrected(found, options);
    tables.push(Float32Array.from({ length: codes }, (_, code) => decodeSrgb(change(code / (codes - 1)))));
  }
  const count = width * height;
  const luminance = new Float32Array(count);
  if (colors === 1) {
    for (let i = 0, at = 0; i < count; i++, at += channels) luminance[i] = tables[0][data[at]];
  } else {
    const [red, green, blue] = tables;
    for (let i = 0, at = 0; i < count; i++, at += channels) {
      luminance[i] = RED * red[data[at]] + GREEN * green[data[at + 1]] + BLUE * blue[data[at + 2]];
    }
  }
  return { picture: { width, height, luminance, alpha }, points };
}

function repairLinear({ width, height, alpha, ...color }: LinearColor, options: Partial<CastOptions>): CastRepair {
  const luminance = new Float32Array(width * height);
  const encoded = Uint16Array.from({ length: TABLE + 1 }, (_, i) =>
    Math.min(BINS - 1, Math.round(encodeSrgb(i / TABLE) * (BINS - 1))),
  );
  const points: CastPoints[] = [];
  const cell = (value: number): number => (value > 0 ? (value < 1 ? (value * TABLE + 0.5) | 0 : TABLE) : 0);
  for (const [plane, weight] of [
    [color.red, RED],
    [color.green, GREEN],
    [color.blue, BLUE],
  ] as const) {
    const counts = new Float64Array(BINS);
    for (let i = 0; i < plane.length; i++) if (alpha === null || alpha[i] > 0) counts[encoded[cell(plane[i])]]++;
    const found = pointsOf(counts, options);
    points.push(found);
    const change = corrected(found, options);
    const table = Float32Array.from(
      { length: TABLE + 1 },
      (_, i) => weight * decodeSrgb(change(encodeSrgb(i / TABLE))),
    );
    for (let i = 0; i < plane.length; i++) luminance[i] += table[cell(plane[i])];
  }
  return { picture: { width, height, luminance, alpha }, points };
}

/** Even steps of linear light: fine enough that one at black is less than half a bin. */
const TABLE = 65536;

/** Luminance of the sRGB primaries (IEC 61966-2-1). */
const RED = 0.2126;

const GREEN = 0.7152;

const BLUE = 0.0722;

function pointsOf(counts: Float64Array, options: Partial<CastOptions>): CastPoints {
  const { blackShare, whiteShare } = { ...CAST_DEFAULTS, ...options };
  const [black, white] = [blackShare, 1 - whiteShare].map(
    (share) => locateShare(counts, share).bin / (counts.length - 1),
  );
  return { black, white };
}

function corrected({ black, white }: CastPoints, options: Partial<CastOptions>): (encoded: number) => number {
  const { amount } = { ...CAST_DEFAULTS, ...options };
  if (!(white - black >= FLAT)) return (encoded) => encoded;
  return (encoded) => {
    const stretched = Math.min(1, Math.max(0, (encoded - black) / (white - black)));
    return encoded + amount * (stretched - encoded);
  };
}

/**
 * The rising sequence that lies nearest to given values (least squares): neighbours that fall are put at their mean until none
 * does. Takes measuring noise out of what must rise.
 * Source: M. Ayer, H. D. Brunk, G. M. Ewing, W. T. Reid, E. Silverman, "An empirical distribution function for sampling with
 * incomplete information", Annals of Mathematical Statistics 26(4), 1955 (pool adjacent violators).
 * Test: test/unit/fit-tones.test.ts.
 * @returns as many values, none below the one before.
 */
export function fitRising(values: readonly number[]): number[] {
  const means: number[] = [];
  const counts: number[] = [];
  for (const value of values) {
    let mean = value;
    let count = 1;
    while (means.length > 0 && means[means.length - 1] >= mean) {
      const before = counts.pop() as number;
      mean = (mean * count + (means.pop() as number) * before) / (count + before);
      count += before;
    }
    means.push(mean);
    counts.push(count);
  }
  return means.flatMap((mean, i) => new Array<number>(counts[i]).fill(mean));
}

/**
 * Percentiles of values 0–1 from a histogram of 4096 bins, straight inside a bin: right to within 1/4096. Values beyond count as 0 or
 * 1; not-a-number and dots whose mask is 0 do not count.
 * @param shares places in the order of the values, 0 (the least) – 1 (the greatest).
 * @returns one value per share; all 0 if nothing counts.
 */
export function findPercentiles(
  values: Float32Array,
  shares: readonly number[],
  mask: Uint8Array | null = null,
): number[] {
  const counts = new Float64Array(BINS);
  for (let i = 0; i < values.length; i++) {
    if (mask !== null && mask[i] === 0) continue;
    const value = values[i];
    if (value >= 1) counts[BINS - 1]++;
    else if (value > 0) counts[(value * BINS) | 0]++;
    else if (value <= 0) counts[0]++;
  }
  return shares.map((share) => {
    const { bin, inside } = locateShare(counts, share);
    return (bin + inside) / BINS;
  });
}

/** The bin in which a share (0–1) of all counts is reached, and how far into it, 0–1. Bin 0 if nothing was counted. */
function locateShare(counts: Float64Array, share: number): { bin: number; inside: number } {
  const total = counts.reduce((sum, count) => sum + count, 0);
  if (total === 0) return { bin: 0, inside: 0 };
  const wanted = Math.min(1, Math.max(0, share)) * total;
  let before = 0;
  let bin = 0;
  while (bin < counts.length - 1 && (counts[bin] === 0 || before + counts[bin] < wanted)) before += counts[bin++];
  // A share that is reached just where counts end is reached in the last bin that has any.
  while (bin > 0 && counts[bin] === 0) before -= counts[--bin];
  return { bin, inside: counts[bin] > 0 ? Math.min(1, Math.max(0, (wanted - before) / counts[bin])) : 0 };
}
