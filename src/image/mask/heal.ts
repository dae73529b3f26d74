import { lightnessToLuminance, luminancesToLightnesses } from '../lightness.ts';
import type { Picture } from '../picture.ts';
import { inpaint } from '../repair/inpaint.ts';
import { paintStrokes } from './brush.ts';

/** A stroke over what is to be healed; lengths in shares of the picture's width from its left top corner. */
export interface HealedStroke {
  readonly points: readonly (readonly [x: number, y: number])[];
  readonly radius: number;
}

/** Width of the ring round a stroke by which places are compared, and pixels round it that are looked at, radii. */
const RING = 0.6;

const REACH = 6;

/** Directions and distances, radii, in which a like place is looked for. */
const DIRECTIONS = 24;

const DISTANCES = [2.2, 3, 4.2];

/** Places of the ring that are compared; more tell no more. */
const MOST_COMPARED = 1500;

/**
 * Heals what strokes go over, one after the other: a like place nearby is laid over each, and the difference between its surroundings and
 * those of the stroke is spread harmonically inside, so that grain is put back and no seam shows. Where no place nearby is whole, the
 * harmonic filling alone stays. Works on lightness, in the photograph itself, so that every size of it is healed alike.
 * Source: P. Pérez, M. Gangnet, A. Blake, "Poisson image editing", SIGGRAPH 2003, eq. 10 (seamless cloning); how the place is chosen is
 * our own. Test: test/unit/mask-heal.test.ts.
 * @returns a new picture; the same one where there are no strokes.
 */
export function healPicture(picture: Picture, strokes: readonly HealedStroke[]): Picture {
  if (strokes.length === 0) return picture;
  const { width, height } = picture;
  const luminance = picture.luminance.slice();
  for (const stroke of strokes) healStroke(luminance, width, height, stroke);
  return { ...picture, luminance };
}

function healStroke(luminance: Float32Array, width: number, height: number, { points, radius }: HealedStroke): void {
  const radiusPx = Math.max(1, radius * width);
  const margin = Math.ceil(REACH * radiusPx) + 2;
  const [xs, ys] = [points.map(([x]) => x * width), points.map(([, y]) => y * width)];
  const left = Math.max(0, Math.floor(least(xs)) - margin);
  const top = Math.max(0, Math.floor(least(ys)) - margin);
  const right = Math.min(width, Math.ceil(-least(xs.map((x) => -x))) + margin);
  const bottom = Math.min(height, Math.ceil(-least(ys.map((y) => -y))) + margin);
  const [w, h] = [right - left, bottom - top];
  if (w < 1 || h < 1) return;
  const cut = new Float32Array(w * h);
  for (let y = 0; y < h; y++) {
    cut.set(luminance.subarray((top + y) * width + left, (top + y) * width + right), y * w);
  }
  const plane = luminancesToLightnesses(cut);
  const shape = (grow: number): Uint8Array =>
    paintStrokes(new Uint8Array(w * h), w, h, [
      {
        does: 'restore',
        points: points.map(([x, y]) => [(x * width - left) / w, (y * width - top) / w] as const),
        radius: (radiusPx * grow) / w,
        hardness: 1,
      },
    ]);
  const marked = shape(1);
  const filled = inpaint(plane, w, h, marked);
  const ring = shape(1 + RING).map((value, i) => (value > 0 && marked[i] === 0 ? 1 : 0));
  const offset = likePlace(filled, w, h, marked, ring, radiusPx);
  const healed = offset ? cloned(filled, plane, w, h, marked, offset) : filled;
  for (let i = 0; i < marked.length; i++) {
    if (marked[i] === 0) continue;
    luminance[(top + Math.floor(i / w)) * width + left + (i % w)] = lightnessToLuminance(
      Math.min(1, Math.max(0, healed[i])),
    );
  }
}

const least = (values: readonly number[]): number =>
  values.reduce((one, other) => Math.min(one, other), Number.POSITIVE_INFINITY);

/** The shift to the place nearby that is whole and whose ring is most like the stroke's, whatever their mean; null if there is none. */
function likePlace(
  plane: Float32Array,
  w: number,
  h: number,
  marked: Uint8Array,
  ring: Uint8Array,
  radiusPx: number,
): readonly [number, number] | null {
  const inside: number[] = [];
  const around: number[] = [];
  for (let i = 0; i < marked.length; i++) {
    if (marked[i] > 0) inside.push(i);
    else if (ring[i] > 0) around.push(i);
  }
  if (around.length === 0) return null;
  const step = Math.max(1, Math.floor(around.length / MOST_COMPARED));
  const whole = (i: number, dx: number, dy: number): boolean => {
    const [x, y] = [(i % w) + dx, Math.floor(i / w) + dy];
    return x >= 0 && y >= 0 && x < w && y < h && marked[y * w + x] === 0;
  };
  let best: readonly [number, number] | null = null;
  let nearest = Number.POSITIVE_INFINITY;
  for (const distance of DISTANCES) {
    for (let k = 0; k < DIRECTIONS; k++) {
      const turn = (2 * Math.PI * k) / DIRECTIONS;
      const dx = Math.round(distance * radiusPx * Math.cos(turn));
      const dy = Math.round(distance * radiusPx * Math.sin(turn));
      if (!inside.every((i) => whole(i, dx, dy))) continue;
      let [sum, squares, count] = [0, 0, 0];
      for (let n = 0; n < around.length; n += step) {
        if (!whole(around[n], dx, dy)) continue;
        const off = plane[around[n]] - plane[around[n] + dy * w + dx];
        sum += off;
        squares += off * off;
        count++;
      }
      if (count * step < around.length / 2) continue;
      const unlike = squares / count - (0.75 * sum * sum) / (count * count);
      if (unlike < nearest) {
        nearest = unlike;
        best = [dx, dy];
      }
    }
  }
  return best;
}

/** The shifted place with its difference from the surroundings spread over it. */
function cloned(
  filled: Float32Array,
  plane: Float32Array,
  w: number,
  h: number,
  marked: Uint8Array,
  [dx, dy]: readonly [number, number],
): Float32Array {
  const shifted = (i: number): number => {
    const x = Math.min(w - 1, Math.max(0, (i % w) + dx));
    const y = Math.min(h - 1, Math.max(0, Math.floor(i / w) + dy));
    return filled[y * w + x];
  };
  const off = plane.map((value, i) => value - shifted(i));
  return inpaint(off, w, h, marked).map((value, i) => value + shifted(i));
}
