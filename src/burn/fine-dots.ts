import { inLanes } from '../base/in-lanes.ts';
import { breathe } from '../base/stop.ts';
import { eyeGaussians } from '../image/eye-filter.ts';
import { ALL_DARK, ALL_LIGHT, patternBit } from './dot-model.ts';
import { aimAt, type PlacedDots } from './dot-work.ts';

/** Rows of a picture whose dots are moved together, and the rows about them that they are seen with. */
export interface DotBand {
  readonly width: number;
  readonly rows: number;
  /** Rows whose dots may change. */
  readonly from: number;
  readonly end: number;
  readonly passes: number;
  readonly pitchMm: number;
  readonly levels: Uint8Array;
  readonly mask: Uint8Array;
  readonly aim: Float32Array;
  /** Which of the tables each cell has. */
  readonly tableOf: Uint8Array;
  readonly luminance: readonly Float32Array[];
  readonly sway: readonly Float32Array[];
}

/** Dots to any side of one that the eye takes in with it, and over which two errors are so seen together. */
const TAKEN_IN = 4;
const SEEN = 2 * TAKEN_IN;
const SEEN_SIDE = 2 * SEEN + 1;
/** Beyond it nothing is seen together. */
const DISC = SEEN + 1;

/**
 * How much two errors some dots apart are seen together: the eye's filter with itself. It is cut off at `TAKEN_IN` dots first, for only what is
 * some filter's product with itself has no direction in which errors pay. Its widest part sees means only and is left out.
 */
function seenTogether(pitchMm: number): Float32Array {
  const narrow = eyeGaussians(pitchMm).slice(0, 2);
  const side = 2 * TAKEN_IN + 1;
  const eye = new Float64Array(side * side);
  let total = 0;
  for (let i = 0; i < eye.length; i++) {
    const squared = ((i % side) - TAKEN_IN) ** 2 + (Math.floor(i / side) - TAKEN_IN) ** 2;
    if (squared > (TAKEN_IN + 0.5) ** 2) continue;
    for (const [share, sigma] of narrow) eye[i] += (share / sigma ** 2) * Math.exp((-0.5 * squared) / sigma ** 2);
    total += eye[i];
  }
  const out = new Float32Array(SEEN_SIDE * SEEN_SIDE);
  for (let i = 0; i < eye.length; i++) {
    for (let j = 0; j < eye.length; j++) {
      const x = (j % side) - (i % side) + SEEN;
      const y = Math.floor(j / side) - Math.floor(i / side) + SEEN;
      out[y * SEEN_SIDE + x] += (eye[i] * eye[j]) / (total * total);
    }
  }
  return out;
}

/** Dots that turn round together; the first is the one that is looked at. */
type Move = readonly (readonly [x: number, y: number])[];

/** A dot by itself, or with one of its eight neighbours: a light dot steps aside. */
const ALONE: Move = [[0, 0]];
const ASIDE: readonly Move[] = [
  [1, 0],
  [-1, 0],
  [0, 1],
  [0, -1],
  [1, 1],
  [-1, 1],
  [1, -1],
  [-1, -1],
].map(
  ([x, y]): Move => [
    [0, 0],
    [x, y],
  ],
);
const MOVES = [ALONE, ...ASIDE];

/** Cells that a move changes. */
interface Reach {
  /** Places from the dot's own, and bits of their patterns that it turns round. */
  readonly offsets: Int32Array;
  readonly bits: Uint16Array;
  /** `seenTogether` of each two of them. */
  readonly pairs: Float32Array;
}

function reachOf(move: Move, across: number, stride: number, together: Float32Array): Reach {
  const cells = new Map<number, { x: number; y: number; bits: number }>();
  for (const [dotX, dotY] of move) {
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -across; dx <= across; dx++) {
        const [x, y] = [dotX + dx, dotY + dy];
        const cell = cells.get(y * stride + x) ?? { x, y, bits: 0 };
        cell.bits ^= patternBit(dx, dy);
        cells.set(y * stride + x, cell);
      }
    }
  }
  const list = [...cells.values()];
  return {
    offsets: Int32Array.from(cells.keys()),
    bits: Uint16Array.from(list, ({ bits }) => bits),
    pairs: Float32Array.from(
      list.flatMap((a) => list.map((b) => together[(a.y - b.y + SEEN) * SEEN_SIDE + a.x - b.x + SEEN])),
    ),
  };
}

const MOST_CELLS = 32;

/** Luminance that a dot two columns off may change unheeded as moves are weighed; once one is made it counts. */
const SLIGHT = 0.01;

/** Columns over which a dot changes cells so much that it is weighed. */
function reachAcross(luminance: readonly Float32Array[]): number {
  const [table] = luminance;
  const outer = [patternBit(-2, 0), patternBit(2, 0)];
  const most = outer.map((bit) => table.reduce((far, value, i) => Math.max(far, Math.abs(value - table[i ^ bit])), 0));
  return Math.max(...most) > SLIGHT ? 2 : 1;
}

/** Luminance by which a cell must change to count. */
const UNSEEN = 2e-3;

/** Sum of squares that a change must save. */
const WORTH = 1e-7;

/**
 * Direct binary search: dot by dot, turns it round or has it change places with a neighbour where that lowers the sum of the squares of what is
 * seen of all errors, most. Two errors count, each through the eye's filter: what the burn is predicted to be off by, and what it would be
 * off by under a dose one deviation larger, which no dots can make up for but some answer less. Returns the band's levels.
 * Source: M. Analoui and J. P. Allebach, "Model-based halftoning using direct binary search", Proc. SPIE 1666, 1992; with the burn's
 * own law in place of a printer's. A row keeps at least one light dot, and one without any stays so, for it is not travelled.
 */
export function searchBand(band: DotBand): Uint8Array {
  const { width, rows, from, end, mask, luminance, sway } = band;
  // Room about the band, so that no cell that is seen lies beyond it.
  const margin = SEEN + 3;
  const stride = width + 2 * margin;
  const size = stride * (rows + 2 * margin);
  const placeOf = (x: number, y: number): number => (y + margin) * stride + x + margin;
  const patterns = new Uint16Array(size);
  const table = new Uint8Array(size);
  const counts = new Uint8Array(size);
  const value = new Float32Array(size);
  const swayed = new Float32Array(size);
  const errorSeen = new Float32Array(size);
  const swaySeen = new Float32Array(size);
  const together = seenTogether(band.pitchMm);
  const lightInRow = new Int32Array(rows);
  const swayOf = luminance.map((_, i) => sway[Math.floor((i * sway.length) / luminance.length)]);

  const disc = Array.from({ length: SEEN_SIDE }, (_, row) => {
    const half = Math.floor(Math.sqrt(DISC ** 2 - (row - SEEN) ** 2));
    return Math.min(SEEN, half);
  });
  /** Has an error at a place be seen where it is seen. */
  const see = (plane: Float32Array, at: number, error: number): void => {
    for (let y = 0; y < SEEN_SIDE; y++) {
      const half = disc[y];
      const middle = at + (y - SEEN) * stride;
      const weights = y * SEEN_SIDE + SEEN;
      for (let x = -half; x <= half; x++) plane[middle + x] += error * together[weights + x];
    }
  };

  for (let y = 0, i = 0; y < rows; y++) {
    for (let x = 0; x < width; x++, i++) {
      if (band.levels[i] < 128) continue;
      lightInRow[y]++;
      for (let dy = -1; dy <= 1; dy++) {
        for (let dx = -2; dx <= 2; dx++) patterns[placeOf(x + dx, y + dy)] |= patternBit(dx, dy);
      }
    }
  }
  for (let y = 0, i = 0; y < rows; y++) {
    for (let x = 0; x < width; x++, i++) {
      if (mask[i] === 0) continue;
      const at = placeOf(x, y);
      counts[at] = 1;
      table[at] = band.tableOf[i];
      value[at] = luminance[table[at]][patterns[at]];
      swayed[at] = swayOf[table[at]][patterns[at]];
      see(errorSeen, at, value[at] - band.aim[i]);
      if (swayed[at] !== 0) see(swaySeen, at, swayed[at]);
    }
  }

  const reaches = MOVES.map((move) => reachOf(move, 2, stride, together));
  const across = reachAcross(luminance);
  const near = MOVES.map((move) => reachOf(move, across, stride, together));
  const changes = new Float32Array(MOST_CELLS);
  const sways = new Float32Array(MOST_CELLS);
  const cells = new Uint8Array(MOST_CELLS);

  /** By how much a move changes the sum of squares; 0 where it is not worth working out. */
  const cost = ({ offsets, bits, pairs }: Reach, at: number): number => {
    let linear = 0;
    let changed = 0;
    for (let i = 0; i < offsets.length; i++) {
      const cell = at + offsets[i];
      if (counts[cell] === 0) continue;
      const pattern = patterns[cell] ^ bits[i];
      const change = luminance[table[cell]][pattern] - value[cell];
      if (change < UNSEEN && change > -UNSEEN) continue;
      const more = swayOf[table[cell]][pattern] - swayed[cell];
      linear += change * errorSeen[cell] + more * swaySeen[cell];
      changes[changed] = change;
      sways[changed] = more;
      cells[changed++] = i;
    }
    if (linear >= 0) return 0;
    let squares = 0;
    for (let a = 0; a < changed; a++) {
      const pair = cells[a] * offsets.length;
      let error = (changes[a] * pairs[0]) / 2;
      let moved = (sways[a] * pairs[0]) / 2;
      for (let b = 0; b < a; b++) {
        error += changes[b] * pairs[pair + cells[b]];
        moved += sways[b] * pairs[pair + cells[b]];
      }
      squares += changes[a] * error + sways[a] * moved;
    }
    return 2 * (linear + squares);
  };

  const make = ({ offsets, bits }: Reach, at: number): void => {
    for (let i = 0; i < offsets.length; i++) {
      const cell = at + offsets[i];
      patterns[cell] ^= bits[i];
      if (counts[cell] === 0) continue;
      const change = luminance[table[cell]][patterns[cell]] - value[cell];
      if (change < UNSEEN && change > -UNSEEN) continue;
      value[cell] += change;
      see(errorSeen, cell, change);
      const more = swayOf[table[cell]][patterns[cell]] - swayed[cell];
      swayed[cell] += more;
      see(swaySeen, cell, more);
    }
  };

  const own = patternBit(0, 0);
  const isLight = (at: number): boolean => (patterns[at] & own) !== 0;

  const middle = (luminance[0][ALL_DARK] + luminance[0][ALL_LIGHT]) / 2;
  for (let pass = 0; pass < band.passes; pass++) {
    for (let y = from; y < end; y++) {
      for (let x = 0; x < width; x++) {
        const at = placeOf(x, y);
        if (counts[at] === 0) continue;
        const light = isLight(at);
        let best = -WORTH;
        let chosen = -1;
        // A row that would begin or cease to be travelled would turn all rows after it round.
        if (light ? lightInRow[y] > 1 : lightInRow[y] > 0) {
          const alone = cost(near[0], at);
          if (alone < best) {
            best = alone;
            chosen = 0;
          }
        }
        // Of two neighbours the one that is rarer steps aside, so that no two are tried twice.
        const rarer = light === band.aim[y * width + x] < middle;
        for (let k = 1; rarer && k < MOVES.length; k++) {
          const [, [dx, dy]] = MOVES[k];
          const other = at + dy * stride + dx;
          if (y + dy < from || y + dy >= end || counts[other] === 0 || isLight(other) === light) continue;
          if (dy !== 0 && (lightInRow[light ? y : y + dy] < 2 || lightInRow[light ? y + dy : y] === 0)) continue;
          const aside = cost(near[k], at);
          if (aside < best) {
            best = aside;
            chosen = k;
          }
        }
        if (chosen < 0) continue;
        make(reaches[chosen], at);
        lightInRow[y] += light ? -1 : 1;
        if (chosen > 0) lightInRow[y + MOVES[chosen][1][1]] += light ? 1 : -1;
      }
    }
  }
  const out = new Uint8Array(width * (end - from));
  for (let y = from, i = 0; y < end; y++)
    for (let x = 0; x < width; x++, i++) out[i] = isLight(placeOf(x, y)) ? 255 : 0;
  return out;
}

/** Rows that are moved together, and how often each of their dots is looked at. */
const BAND_ROWS = 96;
const PASSES = 3;
/** The same for the rows about the seams of two bands, which did not see each other move. */
const SEAM_ROWS = 32;
const SEAM_PASSES = 2;
/** Rows about a band that it is seen with. */
const HALO = SEEN + 2;

/** Rows to be searched, any of a round at once, and the levels that they start from. */
interface Round {
  readonly ranges: readonly (readonly [from: number, end: number])[];
  readonly passes: number;
}

function roundsOf(height: number): readonly Round[] {
  const bands = Array.from({ length: Math.ceil(height / BAND_ROWS) }, (_, i): readonly [number, number] => [
    i * BAND_ROWS,
    Math.min(height, (i + 1) * BAND_ROWS),
  ]);
  const seams = bands
    .slice(1)
    .map(([from]): readonly [number, number] => [from - SEAM_ROWS / 2, Math.min(height, from + SEAM_ROWS / 2)]);
  return [
    { ranges: bands, passes: PASSES },
    { ranges: seams, passes: SEAM_PASSES },
  ];
}

function bandOf(placed: PlacedDots, levels: Uint8Array, [from, end]: Round['ranges'][number], passes: number): DotBand {
  const { work, backwards } = placed;
  const { model, width, height, mask, warmth, parts, pitchMm } = work;
  const first = Math.max(0, from - HALO);
  const last = Math.min(height, end + HALO);
  const rows = last - first;
  const warmths = model.warmthsK.length;
  const tableOf = new Uint8Array(width * rows);
  const aim = new Float32Array(width * rows);
  for (let y = 0, i = 0; y < rows; y++) {
    const direction = model.sway.length === 2 ? backwards[first + y] : 0;
    const row = (first + y) * parts;
    for (let x = 0; x < width; x++, i++) {
      aim[i] = aimAt(work, first * width + i);
      tableOf[i] = direction * warmths + warmth[row + Math.floor((x * parts) / width)];
    }
  }
  return {
    width,
    rows,
    from: from - first,
    end: end - first,
    passes,
    pitchMm,
    levels: levels.slice(first * width, last * width),
    mask: mask.slice(first * width, last * width),
    aim,
    tableOf,
    luminance: model.luminance,
    sway: model.sway,
  };
}

export interface SearchHooks {
  /** Searches bands, so many at once; here and one by one where it is left out. */
  readonly searcher?: { readonly lanes: number; readonly search: (band: DotBand) => Promise<Uint8Array> };
  readonly signal?: AbortSignal;
  readonly onShare?: (share: number) => void;
}

/** What a search has found so far, round by round: one that was stopped goes on from here. */
export type SearchSoFar = { readonly found: Uint8Array; readonly done: Set<number> }[];

/**
 * The dots of one sweep, moved until they look right: band by band, then about the bands' seams. Bands are the same whoever searches them, how
 * many at once and after how many stops, and so is what comes out. `soFar` is added to; it must be of the same sweep. @throws Cancelled.
 */
export async function fineDots(
  placed: PlacedDots,
  hooks: SearchHooks = {},
  soFar: SearchSoFar = [],
): Promise<Uint8Array> {
  const { signal, onShare } = hooks;
  const { lanes, search } = hooks.searcher ?? { lanes: 1, search: async (band: DotBand) => searchBand(band) };
  const { width, height } = placed.work;
  const rounds = roundsOf(height);
  const total = rounds.reduce((sum, { ranges }) => sum + ranges.length, 0);
  const tell = () => onShare?.(soFar.reduce((sum, { done }) => sum + done.size, 0) / total);
  if (soFar.length > 0) tell();
  let levels = placed.levels;
  for (const [r, { ranges, passes }] of rounds.entries()) {
    // Two searches of the same dots share what either finds: a round is begun once, and its bands come out alike.
    soFar[r] ??= { found: levels.slice(), done: new Set() };
    const { found, done } = soFar[r];
    await inLanes(ranges.length, lanes, async (i) => {
      if (done.has(i)) return;
      await breathe(signal);
      const band = await search(bandOf(placed, levels, ranges[i], passes));
      if (!done.has(i)) found.set(band, ranges[i][0] * width);
      done.add(i);
      signal?.throwIfAborted();
      tell();
    });
    levels = found;
  }
  return levels;
}

/** The same here and at once, for whoever cannot wait in between. */
export function fineDotsNow(placed: PlacedDots): Uint8Array {
  let levels = placed.levels;
  for (const { ranges, passes } of roundsOf(placed.work.height)) {
    const found = levels.slice();
    for (const range of ranges) {
      found.set(searchBand(bandOf(placed, levels, range, passes)), range[0] * placed.work.width);
    }
    levels = found;
  }
  return levels;
}
