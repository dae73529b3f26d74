import { unzlibSync } from 'fflate';
import { encodeSrgb } from '../../base/color/srgb.ts';
import type { PictureInfo } from '../inspect.ts';
import type { EncodedPixels } from '../linearise.ts';
import { PictureError } from '../picture-error.ts';

/** How a profile's device values become linear light: a curve a channel, then a matrix to linear sRGB. */
export interface LinearProfile {
  /** Three curves for RGB, one for grey; device 0–1 to linear 0–1. */
  readonly curves: readonly ((device: number) => number)[];
  /** Row-major 3 × 3 from the linear channels to linear sRGB; null for grey. */
  readonly toSrgb: readonly number[] | null;
}

/**
 * XYZ of the profile connection space (D50) to linear sRGB: the inverse of the sRGB primaries adapted to D50 by Bradford, as profiles of
 * sRGB hold them (IEC 61966-2-1; ICC.1:2010, annex E).
 */
const D50_TO_SRGB = [
  3.1341359, -1.6172681, -0.4906864, -0.9787684, 1.9161415, 0.033454, 0.0719453, -0.2289914, 1.4052427,
];

/**
 * Reads an ICC profile of curves and a matrix (RGB) or of one curve (grey).
 * Source: ICC.1:2010, 7.2 header, 8.3.3 and 8.4.3 models, 10.5 curveType, 10.15 parametricCurveType, 10.31 XYZType.
 * @returns null for one of another kind: tables, other colour spaces, or in pieces.
 */
export function readIccProfile(bytes: Uint8Array): LinearProfile | null {
  try {
    return parse(bytes);
  } catch (error) {
    // Offsets beyond the end.
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function parse(bytes: Uint8Array): LinearProfile | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const text = (at: number) => String.fromCharCode(...[0, 1, 2, 3].map((k) => view.getUint8(at + k)));
  if (text(36) !== 'acsp' || text(20) !== 'XYZ ') return null;
  const tags = new Map<string, number>();
  const count = Math.min(200, view.getUint32(128));
  for (let i = 0; i < count; i++) tags.set(text(132 + 12 * i), view.getUint32(136 + 12 * i));
  if (tags.has('A2B0')) return null;
  const curve = (tag: string) => {
    const at = tags.get(tag);
    return at === undefined ? null : curveAt(view, text(at), at);
  };
  if (text(16) === 'GRAY') {
    const grey = curve('kTRC');
    return grey && { curves: [grey], toSrgb: null };
  }
  if (text(16) !== 'RGB ') return null;
  const curves = ['rTRC', 'gTRC', 'bTRC'].map(curve);
  const places = ['rXYZ', 'gXYZ', 'bXYZ'].map((tag) => tags.get(tag));
  if (curves.includes(null) || places.includes(undefined)) return null;
  const xyz = (places as number[]).map((at) => [0, 1, 2].map((k) => view.getInt32(at + 8 + 4 * k) / 65536));
  const toSrgb = Array.from({ length: 9 }, (_, i) =>
    [0, 1, 2].reduce((sum, k) => sum + D50_TO_SRGB[3 * Math.floor(i / 3) + k] * xyz[i % 3][k], 0),
  );
  return { curves: curves as ((device: number) => number)[], toSrgb };
}

const clip = (value: number): number => (value > 0 ? Math.min(1, value) : 0);

function curveAt(view: DataView, type: string, at: number): ((x: number) => number) | null {
  if (type === 'curv') {
    const count = view.getUint32(at + 8);
    if (count === 0) return (x) => x;
    if (count === 1) {
      const gamma = view.getUint16(at + 12) / 256;
      return (x) => clip(x) ** gamma;
    }
    const values = Array.from({ length: count }, (_, i) => view.getUint16(at + 12 + 2 * i) / 65535);
    return (x) => {
      const place = clip(x) * (count - 1);
      const low = Math.min(count - 2, Math.floor(place));
      return values[low] + (values[low + 1] - values[low]) * (place - low);
    };
  }
  if (type !== 'para') return null;
  const kind = view.getUint16(at + 8);
  const p = (i: number) => view.getInt32(at + 12 + 4 * i) / 65536;
  const length = [1, 3, 4, 5, 7][kind];
  if (length === undefined) return null;
  const [g, a = 1, b = 0, third = 0, d = 0, e = 0, f = 0] = Array.from({ length }, (_, i) => p(i));
  // Below the corner: 1 gives 0, 2 gives c, 3 and 4 are straight.
  const corner = kind === 0 ? 0 : kind < 3 ? -b / a : d;
  const low = (x: number) => (kind === 2 ? third : kind === 3 ? third * x : kind === 4 ? third * x + f : 0);
  const added = kind === 2 ? third : kind === 4 ? e : 0;
  return (x) => clip(x >= corner ? Math.max(0, a * x + b) ** g + added : low(x));
}

/** Profiles are some kilobytes, those with tables a megabyte or two. */
const MOST_BYTES = 8 << 20;

/**
 * The ICC profile that a PNG, JPEG or WebP carries, unpacked; null if it has none or one that is in pieces. The file must have been
 * looked over by `inspectPicture`.
 * Source: W3C PNG Third Edition 11.3.2.3 (iCCP); ICC.1:2010 B.4 (JPEG); WebP container specification (ICCP).
 */
export function embeddedProfile(bytes: Uint8Array, { format }: PictureInfo): Uint8Array | null {
  if (format === 'png') return fromPng(bytes);
  if (format === 'jpeg') return fromJpeg(bytes);
  return format === 'webp' ? fromWebp(bytes) : null;
}

const viewOf = (bytes: Uint8Array) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

const textAt = (bytes: Uint8Array, at: number, length: number): string =>
  String.fromCharCode(...bytes.subarray(at, at + length));

function fromPng(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  for (let at = 8; at + 12 <= bytes.length; at += 12 + view.getUint32(at)) {
    const type = textAt(bytes, at + 4, 4);
    if (type === 'IDAT') return null;
    if (type !== 'iCCP') continue;
    const data = bytes.subarray(at + 8, at + 8 + view.getUint32(at));
    const nameEnd = data.indexOf(0);
    try {
      // A buffer of its own size: what would unpack to more is cut, and then is no profile.
      const profile = unzlibSync(data.subarray(nameEnd + 2), { out: new Uint8Array(MOST_BYTES) });
      return profile.slice();
    } catch {
      return null;
    }
  }
  return null;
}

function fromJpeg(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  const parts: Uint8Array[] = [];
  let wanted = 0;
  for (let at = 2; at + 4 <= bytes.length && bytes[at] === 0xff; ) {
    if (bytes[at + 1] === 0xff) {
      at++;
      continue;
    }
    if (bytes[at + 1] === 0xda) break;
    const length = view.getUint16(at + 2);
    if (bytes[at + 1] === 0xe2 && length > 16 && textAt(bytes, at + 4, 11) === 'ICC_PROFILE') {
      parts[bytes[at + 16] - 1] = bytes.subarray(at + 18, at + 2 + length);
      wanted = bytes[at + 17];
    }
    at += 2 + length;
  }
  if (wanted === 0 || parts.length !== wanted || parts.includes(undefined as never)) return null;
  const profile = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    profile.set(part, at);
    at += part.length;
  }
  return profile;
}

function fromWebp(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  for (let at = 12; at + 8 <= bytes.length; ) {
    const length = view.getUint32(at + 4, true);
    if (textAt(bytes, at, 4) === 'ICCP') return bytes.slice(at + 8, at + 8 + length);
    at += 8 + length + (length % 2);
  }
  return null;
}

/** A picture of 16 bits whose profile is one of tables: no decoder here converts it at its own depth. */
export const tablesOfDeep = (): PictureError =>
  new PictureError(
    'unsupported-encoding',
    'has 16 bits a channel and a colour profile of tables. Convert it to sRGB in an image editor and save it again.',
  );

/** Codes of 8 bits by which a profile may differ from sRGB and still be taken for it. */
const SAME_WITHIN = 0.5;

/** Steps of the square root of linear light: near black the codes follow it almost evenly. */
const STEPS = 16384;

let encoding: Float32Array | undefined;

/**
 * Pixels of a profile in sRGB of 16 bits, clipped to its gamut, opacity as it was; pixels whose profile says what sRGB says anyway
 * stay as they are. Grey profiles take the first of the colours.
 */
export function pixelsToSrgb(pixels: EncodedPixels, profile: LinearProfile): EncodedPixels {
  if (isSrgb(profile)) return pixels;
  const { channels, data } = pixels;
  const deep = data instanceof Uint16Array;
  const codes = deep ? 65536 : 256;
  const tables = profile.curves.map((curve) => Float32Array.from({ length: codes }, (_, i) => curve(i / (codes - 1))));
  const [first, second = first, third = first] = tables;
  encoding ??= Float32Array.from({ length: STEPS + 2 }, (_, i) => 65535 * encodeSrgb(Math.min(1, (i / STEPS) ** 2)));
  const table = encoding;
  const encode = (linear: number): number => {
    const place = linear > 0 ? (linear < 1 ? Math.sqrt(linear) * STEPS : STEPS) : 0;
    const low = place | 0;
    return (table[low] + (table[low + 1] - table[low]) * (place - low) + 0.5) | 0;
  };
  const out = new Uint16Array(data.length);
  const colors = channels < 3 ? 1 : 3;
  const m = profile.toSrgb;
  for (let at = 0; at < data.length; at += channels) {
    const r = first[data[at]];
    if (colors === 1 || m === null) {
      const code = encode(r);
      for (let k = 0; k < colors; k++) out[at + k] = code;
    } else {
      const g = second[data[at + 1]];
      const b = third[data[at + 2]];
      out[at] = encode(m[0] * r + m[1] * g + m[2] * b);
      out[at + 1] = encode(m[3] * r + m[4] * g + m[5] * b);
      out[at + 2] = encode(m[6] * r + m[7] * g + m[8] * b);
    }
    if (channels !== colors) out[at + colors] = deep ? data[at + colors] : 257 * data[at + colors];
  }
  return { ...pixels, data: out };
}

function isSrgb({ curves, toSrgb }: LinearProfile): boolean {
  const near = (linear: number, wanted: number) =>
    Math.abs(255 * encodeSrgb(Math.min(1, Math.max(0, linear))) - 255 * wanted) < SAME_WITHIN;
  for (const curve of curves) {
    for (let code = 0; code < 256; code++) if (!near(curve(code / 255), code / 255)) return false;
  }
  if (!toSrgb) return true;
  return toSrgb.every((value, i) => Math.abs(value - (i % 4 === 0 ? 1 : 0)) < 0.002);
}
