import { OutlineError } from '../../base/geometry/outline-error.ts';

/** An affine map as SVG writes it: (x, y) → (a x + c y + e, b x + d y + f). */
export type SvgMatrix = readonly [number, number, number, number, number, number];

export const UNCHANGED: SvgMatrix = [1, 0, 0, 1, 0, 0];

/** First `inner`, then `outer`. */
export const chained = (outer: SvgMatrix, inner: SvgMatrix): SvgMatrix => {
  const [a, b, c, d, e, f] = outer;
  const [p, q, r, s, t, u] = inner;
  return [a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f];
};

const DEGREE = Math.PI / 180;

/**
 * Reads a `transform` attribute (SVG 1.1, 7.6): matrix, translate, scale, rotate, skewX, skewY, in any number.
 * @throws OutlineError for anything else.
 */
export function parseTransform(text: string): SvgMatrix {
  let matrix = UNCHANGED;
  const rest = text.replace(/([a-zA-Z]+)\s*\(([^)]*)\)[\s,]*/g, (_, name: string, list: string) => {
    const n = (list.match(/[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?/g) ?? []).map(Number);
    matrix = chained(matrix, single(name, n, text));
    return '';
  });
  if (rest.trim() !== '') throw new OutlineError(`the transformation “${text}” cannot be read`);
  return matrix;
}

function single(name: string, n: readonly number[], text: string): SvgMatrix {
  const count = n.length;
  if (name === 'matrix' && count === 6) return [n[0], n[1], n[2], n[3], n[4], n[5]];
  if (name === 'translate' && (count === 1 || count === 2)) return [1, 0, 0, 1, n[0], n[1] ?? 0];
  if (name === 'scale' && (count === 1 || count === 2)) return [n[0], 0, 0, n[1] ?? n[0], 0, 0];
  if (name === 'skewX' && count === 1) return [1, 0, Math.tan(n[0] * DEGREE), 1, 0, 0];
  if (name === 'skewY' && count === 1) return [1, Math.tan(n[0] * DEGREE), 0, 1, 0, 0];
  if (name === 'rotate' && (count === 1 || count === 3)) {
    const [c, s] = [Math.cos(n[0] * DEGREE), Math.sin(n[0] * DEGREE)];
    const [x, y] = [n[1] ?? 0, n[2] ?? 0];
    return [c, s, -s, c, x - c * x + s * y, y - s * x - c * y];
  }
  throw new OutlineError(`the transformation “${text}” cannot be read`);
}
