import { Matrix, solve } from 'ml-matrix';
import { fitHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/outline.ts';
import { type Grey, halveGrey, halveTiles, type TileLuminance } from './burned-luminance.ts';

/** Where a face lies in a photograph, and how alike the two are. */
export interface LinedUp {
  /** Corners of the face's box, pixels of the photo: left top, right top, right bottom, left bottom. */
  readonly corners: Point[];
  /** Multiple correlation of what is shown there with what is expected, −1 to 1. */
  readonly correlation: number;
}

interface Level {
  readonly tiles: TileLuminance;
  readonly grey: Grey;
}

/** Fewest tiles along a row of the coarsest level. */
const COARSEST = 24;
const ROUNDS = 30;
const FIRST_ROUNDS = 12;
/** Starts that are followed beyond the first rounds; one fewer at each level. */
const FOLLOWED = 3;
/** Starts between two words on how far it is, and the share of the work that they are. */
const SHARED = 12;
const FIRST_SHARE = 0.6;
const FIRST_DAMPING = 1e-3;
const MOST_DAMPING = 30;
/** Rounds end once they gain less. */
const LEAST_GAIN = 2e-6;

/**
 * Lays an expected picture of a face over a photograph of it: the homography that maximises their correlation, which neither exposure nor
 * a veil changes, be they even or falling off across the face, nor a tone curve. Damped Gauss–Newton from each start, coarse to fine.
 * Source: G. D. Evangelidis, E. Z. Psarakis, "Parametric image alignment using enhanced correlation coefficient maximization", IEEE Trans.
 * PAMI 30, 1858, 2008 (from memory).
 * @param expected lightness of each tile, not a number where nothing is known.
 * @param shown lightness of each pixel.
 * @param starts corners to begin from, in the order of `LinedUp.corners`, at least one.
 * @param onShare awaited now and then with the share done; throws to stop.
 * @throws RangeError if there is no start, or corners cross or lie on a line.
 */
export async function lineUp(
  expected: TileLuminance,
  shown: Grey,
  starts: readonly (readonly Point[])[],
  onShare: (share: number) => Promise<void> | void = () => {},
): Promise<LinedUp> {
  if (starts.length === 0) throw new RangeError('nowhere to begin: give at least one set of corners');
  const levels = pyramid(expected, shown);
  let found: Standing[] = [];
  for (const [i, corners] of starts.entries()) {
    if (i % SHARED === 0) await onShare((FIRST_SHARE * i) / starts.length);
    found.push(improved(levels[0], mapOf(corners, shown), FIRST_ROUNDS));
  }
  for (const [i, level] of levels.entries()) {
    const followed = found.sort((a, b) => b.correlation - a.correlation).slice(0, Math.max(1, FOLLOWED - i));
    found = [];
    for (const { map } of followed) {
      await onShare(FIRST_SHARE + ((1 - FIRST_SHARE) * i) / levels.length);
      found.push(improved(level, map, i === 0 ? ROUNDS - FIRST_ROUNDS : ROUNDS));
    }
  }
  const best = found.reduce((a, b) => (b.correlation > a.correlation ? b : a));
  return { corners: cornersOf(best.map, shown), correlation: best.correlation };
}

/** Coarsest first; pixels of the photo about as large as the tiles, so that neither is sampled too thinly. */
function pyramid(expected: TileLuminance, shown: Grey): Level[] {
  const levels: Level[] = [];
  let [tiles, grey] = [expected, shown];
  while (grey.width > 2 * tiles.columns) grey = halveGrey(grey);
  levels.unshift({ tiles, grey });
  while (tiles.columns >= 2 * COARSEST && tiles.rows >= COARSEST) {
    [tiles, grey] = [halveTiles(tiles), halveGrey(grey)];
    levels.unshift({ tiles, grey });
  }
  return levels;
}

/** From the face, −1 to 1 across its box, to the photo, in shares of its longer side from its middle: eight numbers of a homography, h8 = 1. */
type Map8 = readonly number[];

const BOX: readonly Point[] = [
  [-1, -1],
  [1, -1],
  [1, 1],
  [-1, 1],
];

function mapOf(corners: readonly Point[], { width, height }: Grey): Map8 {
  const longer = Math.max(width, height);
  const shares = corners.map(([x, y]): Point => [(x - width / 2) / longer, (y - height / 2) / longer]);
  const map = fitHomography(BOX, shares);
  return map.slice(0, 8).map((value) => value / map[8]);
}

const cornersOf = (map: Map8, { width, height }: Grey): Point[] =>
  BOX.map(([u, v]) => {
    const longer = Math.max(width, height);
    const w = map[6] * u + map[7] * v + 1;
    return [
      width / 2 + (longer * (map[0] * u + map[1] * v + map[2])) / w,
      height / 2 + (longer * (map[3] * u + map[4] * v + map[5])) / w,
    ];
  });

interface Standing {
  readonly map: Map8;
  readonly correlation: number;
}

function improved(level: Level, start: Map8, rounds: number): Standing {
  let damping = FIRST_DAMPING;
  let map = start;
  let at = sampled(level, map);
  for (let round = 0; round < rounds && at && damping < MOST_DAMPING; round++) {
    const step = at.step(damping);
    const next = map.map((value, k) => value + step[k]);
    const then = sampled(level, next);
    if (then && then.correlation > at.correlation) {
      const gained = then.correlation - at.correlation;
      [map, at, damping] = [next, then, damping / 4];
      if (gained < LEAST_GAIN) break;
    } else damping *= 6;
  }
  return { map, correlation: at?.correlation ?? -1 };
}

/** Share of the known tiles that must lie in the photo. */
const LEAST_SHOWN = 0.8;

interface Sampled {
  readonly correlation: number;
  /** What the numbers of the map are to change by, the light's share taken along. */
  readonly step: (damping: number) => number[];
}

/** Numbers of a place's row: what is expected, u, v, what is seen, and how that changes with each number of the map. */
const ROW = 12;
/**
 * Terms by which what is seen follows from what is expected: a veil and an exposure, each even and falling off across the face, and a bend,
 * as a coat that takes more or less than expected has other tones.
 */
const LIGHT = 8;
const VEIL = 3;

/** How alike the two are under a map, and where to go from there; null where too little of the face lies in the photo. */
function sampled(level: Level, map: Map8): Sampled | null {
  const places = placesOf(level, map);
  if (!places) return null;
  const equations = createEquations(LIGHT + 8);
  const terms = new Float64Array(LIGHT + 8);
  const put = (at: number) => {
    const [expected, u, v] = [places[at], places[at + 1], places[at + 2]];
    terms[0] = 1;
    terms[1] = u;
    terms[2] = v;
    terms[3] = expected;
    terms[4] = expected * u;
    terms[5] = expected * v;
    terms[6] = expected * expected;
    terms[7] = expected * expected * expected;
  };
  for (let at = 0; at < places.length; at += ROW) {
    put(at);
    for (let k = 0; k < 8; k++) terms[LIGHT + k] = -places[at + 4 + k];
    equations.add(terms, places[at + 3]);
  }
  const light = equations.solve(LIGHT);
  const veil = equations.solve(VEIL);
  let [left, veiled, together] = [0, 0, 0];
  for (let at = 0; at < places.length; at += ROW) {
    put(at);
    const seen = places[at + 3];
    const unveiled = seen - veil[0] - veil[1] * terms[1] - veil[2] * terms[2];
    let fitted = 0;
    for (let k = 0; k < LIGHT; k++) fitted += terms[k] * light[k];
    left += (seen - fitted) ** 2;
    veiled += unveiled * unveiled;
    together += unveiled * places[at];
  }
  if (!(veiled > 1e-9 * places.length)) return null;
  const correlation = Math.sign(together) * Math.sqrt(Math.max(0, 1 - left / veiled));
  return { correlation, step: (damping) => equations.solve(LIGHT + 8, damping).slice(LIGHT) };
}

/** What is expected and seen at each known tile that lies in the photo; null if too few do. */
function placesOf({ tiles, grey }: Level, map: Map8): Float64Array | null {
  const { columns, rows, luminance } = tiles;
  const { width, height, values } = grey;
  const longer = Math.max(width, height);
  const places = new Float64Array(ROW * columns * rows);
  let known = 0;
  let end = 0;
  for (let row = 0; row < rows; row++) {
    const v = (2 * (row + 0.5)) / rows - 1;
    for (let column = 0; column < columns; column++) {
      const value = luminance[row * columns + column];
      if (!(value >= 0)) continue;
      known++;
      const u = (2 * (column + 0.5)) / columns - 1;
      const w = map[6] * u + map[7] * v + 1;
      if (w < 0.2) continue;
      const x = (map[0] * u + map[1] * v + map[2]) / w;
      const y = (map[3] * u + map[4] * v + map[5]) / w;
      const px = width / 2 + longer * x - 0.5;
      const py = height / 2 + longer * y - 0.5;
      const left = Math.floor(px);
      const top = Math.floor(py);
      if (!(left >= 0 && top >= 0 && left + 1 < width && top + 1 < height)) continue;
      const [a, b] = [px - left, py - top];
      const i = top * width + left;
      const [p, q, r, s] = [values[i], values[i + 1], values[i + width], values[i + width + 1]];
      const gx = (longer * ((1 - b) * (q - p) + b * (s - r))) / w;
      const gy = (longer * ((1 - a) * (r - p) + a * (s - q))) / w;
      const back = -(gx * x + gy * y);
      const seen = (1 - b) * ((1 - a) * p + a * q) + b * ((1 - a) * r + a * s);
      places.set([value, u, v, seen, gx * u, gx * v, gx, gy * u, gy * v, gy, back * u, back * v], end);
      end += ROW;
    }
  }
  return known > 0 && end >= LEAST_SHOWN * ROW * known ? places.subarray(0, end) : null;
}

/** Added to the diagonal: a picture without detail leaves some factors open, which then stay near 0. */
const RIDGE = 1e-9;

/** Normal equations of so many terms. */
function createEquations(size: number) {
  const normal = new Float64Array(size * size);
  const right = new Float64Array(size);
  return {
    add(terms: Float64Array, value: number): void {
      for (let k = 0; k < size; k++) {
        const term = terms[k];
        right[k] += term * value;
        for (let m = k; m < size; m++) normal[k * size + m] += term * terms[m];
      }
    },
    /** Factors of the first terms; `damping` holds those of the map back. */
    solve(first = size, damping = 0): number[] {
      const matrix = new Matrix(first, first);
      for (let k = 0; k < first; k++) {
        for (let m = k; m < first; m++) {
          matrix.set(k, m, normal[k * size + m]);
          matrix.set(m, k, normal[k * size + m]);
        }
        matrix.set(k, k, normal[k * size + k] * (1 + RIDGE + (k >= LIGHT ? damping : 0)) + RIDGE);
      }
      return solve(matrix, Matrix.columnVector(right.subarray(0, first))).to1DArray();
    },
  };
}
