import { encodeSrgb } from '../../base/color/srgb.ts';
import { decodeSrgb } from '../../base/color/srgb-decoding.ts';
import type { EncodedPixels } from '../linearise.ts';
import { readCoverage } from '../linearise.ts';
import type { Picture } from '../picture.ts';
import { locateShare } from './percentiles.ts';

/** A colour picture as three planes of linear sRGB, 0–1, row-major. */
export interface LinearColor {
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

export const CAST_DEFAULTS: CastOptions = { amount: 1, blackShare: 0.002, whiteShare: 0.002 };

/** What was found for one colour, encoded sRGB 0–1. */
export interface CastPoints {
  readonly black: number;
  readonly white: number;
}

export interface CastRepair {
  /** Luminance after the correction, for everything that follows. */
  readonly picture: Picture;
  /** Red, green, blue; one for a grey picture. */
  readonly points: readonly CastPoints[];
}

/** Bins of the encoded value for planes and 16-bit codes. */
const BINS = 4096;
const FLAT = 0.02;

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
