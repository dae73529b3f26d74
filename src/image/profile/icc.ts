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
