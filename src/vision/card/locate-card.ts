import { srgbDecodingTable } from '../../base/color/srgb.ts';
import { applyHomography, fitHomography, type Homography, invertHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/outline.ts';
import { components } from '../../base/geometry/raster-mask.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { boxMean } from '../../image/repair/box-mean.ts';
import { type Card, CODE_BITS, codeBox, markCentres, readCode } from './card.ts';
import { ReadingError } from './reading.ts';

/** Longest side of the picture that marks are looked for in, pixels. */
const SEARCH_PX = 1600;

const MOST_CANDIDATES = 14;

export interface LocatedCard {
  /** Photo pixels → mm on the card. */
  readonly toMm: Homography;
  readonly marksPx: readonly Point[];
  /** Pixels of the photo to a millimetre, about. */
  readonly pxPerMm: number;
}

/**
 * Finds a card by its corner marks and makes sure by its code that it is the one that is asked for.
 * @throws ReadingError: no card, part of one, another one.
 */
export function locateCard(photo: RgbaPhoto, card: Card): LocatedCard {
  const shrunk = shrink(photo);
  const candidates = findMarks(shrunk.light, shrunk.width, shrunk.height)
    .sort((a, b) => b.sidePx - a.sidePx)
    .slice(0, MOST_CANDIDATES);
  if (candidates.length < 2) {
    throw new ReadingError(
      'no card was found in the photograph: none of its corner marks can be seen. Photograph the card from above so that it fills most of the picture, in focus',
    );
  }
  const corners = markCentres(card).map(([x, y]): Point => [x, y]);
  let other: { kind: Card['kind']; id: number } | null = null;
  for (const four of fours(candidates)) {
    for (let turn = 0; turn < 4; turn++) {
      const from = four.map((_, i) => four[(i + turn) % 4].at);
      const map = tryMap(from, corners);
      if (!map) continue;
      const code = readCode(bitsAt(shrunk, invertHomography(map), card));
      if (!code) continue;
      if (code.kind !== card.kind || code.id !== card.id) {
        other = code;
        continue;
      }
      const full = from.map(([x, y]): Point => [x * shrunk.by, y * shrunk.by]);
      const across = Math.hypot(full[1][0] - full[0][0], full[1][1] - full[0][1]);
      return { toMm: fitHomography(full, corners), marksPx: full, pxPerMm: across / (corners[1][0] - corners[0][0]) };
    }
  }
  if (other) {
    throw new ReadingError(
      `this is card ${other.id} (${other.kind}), not card ${card.id} (${card.kind}); give the file of the card in the photograph`,
    );
  }
  if (candidates.length < 4) {
    throw new ReadingError(
      `only ${candidates.length} of the four corner marks can be seen: photograph the whole card in focus, not blurred, with nothing lying on it and no glare on its corners`,
    );
  }
  throw new ReadingError(
    'corner marks were found, but not the code between the upper two: this is another sort of card, or it is blurred or glared there. Photograph it again from straight above',
  );
}

const tryMap = (from: readonly Point[], to: readonly Point[]): Homography | null => {
  try {
    return fitHomography(from, to);
  } catch {
    return null;
  }
};

/** Sets of four of about one size, clockwise, the likeliest first: marks of one card are alike. */
function fours(marks: readonly FoundMark[]): FoundMark[][] {
  const sets: { marks: FoundMark[]; unlike: number }[] = [];
  const n = marks.length;
  for (let a = 0; a < n; a++) {
    for (let b = a + 1; b < n; b++) {
      for (let c = b + 1; c < n; c++) {
        for (let d = c + 1; d < n; d++) {
          const four = [marks[a], marks[b], marks[c], marks[d]];
          const sides = four.map(({ sidePx }) => sidePx);
          const unlike = Math.max(...sides) / Math.min(...sides);
          if (unlike < 2) sets.push({ marks: clockwise(four), unlike });
        }
      }
    }
  }
  return sets.sort((a, b) => a.unlike - b.unlike).map((set) => set.marks);
}

function clockwise(four: FoundMark[]): FoundMark[] {
  const x = four.reduce((sum, { at }) => sum + at[0], 0) / 4;
  const y = four.reduce((sum, { at }) => sum + at[1], 0) / 4;
  const angle = ({ at }: FoundMark) => Math.atan2(at[1] - y, at[0] - x);
  return [...four].sort((a, b) => angle(a) - angle(b));
}

interface Shrunk {
  readonly light: Float32Array;
  readonly width: number;
  readonly height: number;
  readonly by: number;
}

/** Luminance, linear, whole blocks of pixels averaged. */
function shrink({ rgba, width: fullWidth, height: fullHeight }: RgbaPhoto): Shrunk {
  const by = Math.max(1, Math.ceil(Math.max(fullWidth, fullHeight) / SEARCH_PX));
  const width = Math.floor(fullWidth / by);
  const height = Math.floor(fullHeight / by);
  const linear = srgbDecodingTable(8);
  const light = new Float32Array(width * height);
  for (let y = 0; y < height * by; y++) {
    const row = Math.floor(y / by) * width;
    for (let x = 0; x < width * by; x++) {
      const at = 4 * (y * fullWidth + x);
      light[row + Math.floor(x / by)] +=
        0.2126 * linear[rgba[at]] + 0.7152 * linear[rgba[at + 1]] + 0.0722 * linear[rgba[at + 2]];
    }
  }
  for (let i = 0; i < light.length; i++) light[i] /= by * by;
  return { light, width, height, by };
}

/** Squares of the code against half way between the ring of the left mark and the paint beside it. */
function bitsAt({ light, width, height }: Shrunk, toPx: Homography, card: Card): boolean[] {
  const read = (xMm: number, yMm: number): number => {
    const at = applyHomography(toPx, [xMm, yMm]);
    if (!at) return Number.NaN;
    const x = Math.floor(at[0]);
    const y = Math.floor(at[1]);
    return x >= 0 && y >= 0 && x < width && y < height ? light[y * width + x] : Number.NaN;
  };
  const [left, right] = markCentres(card);
  return Array.from({ length: CODE_BITS }, (_, bit) => {
    const { xMm, yMm, widthMm, heightMm } = codeBox(card, bit);
    const share = bit / (CODE_BITS - 1);
    // Light falls off along the code: each end has its own mark to compare with.
    const lit = (1 - share) * read(left[0], left[1]) + share * read(right[0], right[1]);
    const dark = (1 - share) * read(left[0] + 1.4, left[1]) + share * read(right[0] - 1.4, right[1]);
    let sum = 0;
    for (const [u, v] of [
      [0.5, 0.5],
      [0.35, 0.35],
      [0.65, 0.65],
      [0.35, 0.65],
      [0.65, 0.35],
    ]) {
      sum += read(xMm + u * widthMm, yMm + v * heightMm) / 5;
    }
    return sum > (lit + dark) / 2;
  });
}

/** A corner mark found in a picture: where its middle lies and how large its ring is, pixels. */
interface FoundMark {
  readonly at: Point;
  readonly sidePx: number;
}

/** Light must be so much lighter than its surroundings, share of their mean. */
const LIGHTER = 1.15;

/** Areas of ring over middle: 22.9 mm² / 4 mm² as burned; blur and perspective move it. */
const LEAST_RATIO = 2.2;

const MOST_RATIO = 14;

/**
 * Looks for light square rings round light squares: nothing else on a card or a bench is built like that. Light is what is lighter than the mean
 * of a window round it, so that a shadow over half the card does not matter.
 * @param light luminance, row-major.
 */
function findMarks(light: Float32Array, width: number, height: number): FoundMark[] {
  const found: FoundMark[] = [];
  // A mark takes between a fortieth and an eighth of the picture: windows for both.
  for (const share of [0.04, 0.08, 0.16]) {
    const radius = Math.max(4, Math.round(share * Math.max(width, height)));
    const around = boxMean(light, width, height, radius);
    const mask = new Uint8Array(light.length);
    for (let i = 0; i < mask.length; i++) if (light[i] > LIGHTER * around[i] + 0.004) mask[i] = 1;
    for (const mark of marksIn(mask, width, height)) {
      const same = found.findIndex(({ at }) => Math.hypot(at[0] - mark.at[0], at[1] - mark.at[1]) < mark.sidePx / 2);
      if (same < 0) found.push(mark);
    }
  }
  return found;
}

interface Blob {
  readonly at: Point;
  readonly cells: number;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

function marksIn(mask: Uint8Array, width: number, height: number): FoundMark[] {
  const least = 6;
  const most = 0.02 * width * height;
  const blobs = components(mask, width, height)
    .filter(({ cells }) => cells.length >= least && cells.length <= most)
    .map(({ cells }) => blobOf(cells, width));
  const marks: FoundMark[] = [];
  // Only what is nearby can be inside: a grid of bins keeps this from being every pair.
  const bin = 32;
  const bins = new Map<number, Blob[]>();
  const columns = Math.ceil(width / bin) + 1;
  for (const blob of blobs) {
    const key = Math.floor(blob.at[1] / bin) * columns + Math.floor(blob.at[0] / bin);
    const list = bins.get(key);
    if (list) list.push(blob);
    else bins.set(key, [blob]);
  }
  for (const ring of blobs) {
    const wide = ring.right - ring.left + 1;
    const high = ring.bottom - ring.top + 1;
    if (Math.max(wide, high) > 2.5 * Math.min(wide, high) || Math.min(wide, high) < 7) continue;
    const [cx, cy] = [(ring.left + ring.right) / 2, (ring.top + ring.bottom) / 2];
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        for (const middle of bins.get((Math.floor(cy / bin) + dy) * columns + Math.floor(cx / bin) + dx) ?? []) {
          if (middle === ring || middle.left <= ring.left || middle.right >= ring.right) continue;
          if (middle.top <= ring.top || middle.bottom >= ring.bottom) continue;
          const ratio = ring.cells / middle.cells;
          if (ratio < LEAST_RATIO || ratio > MOST_RATIO) continue;
          const side = (wide + high) / 2;
          const off = Math.hypot(middle.at[0] - ring.at[0], middle.at[1] - ring.at[1]);
          if (off > 0.12 * side) continue;
          // The ring's own middle is told by more pixels than the square's.
          marks.push({
            at: [(middle.at[0] + ring.at[0]) / 2 + 0.5, (middle.at[1] + ring.at[1]) / 2 + 0.5],
            sidePx: side,
          });
        }
      }
    }
  }
  return marks;
}

function blobOf(cells: Int32Array, width: number): Blob {
  let [sumX, sumY, left, right, top, bottom] = [0, 0, Infinity, 0, Infinity, 0];
  for (const cell of cells) {
    const x = cell % width;
    const y = (cell - x) / width;
    sumX += x;
    sumY += y;
    left = Math.min(left, x);
    right = Math.max(right, x);
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  return { at: [sumX / cells.length, sumY / cells.length], cells: cells.length, left, top, right, bottom };
}

/**
 * Where a card lies by the middles of its corner marks as somebody pointed them out, clockwise from the card's left top. Its code may be
 * unreadable then, but must not be another card's.
 * @throws ReadingError if the corners make no card, or the code names another one.
 */
export function locateByCorners(photo: RgbaPhoto, marksPx: readonly Point[], card: Card): LocatedCard {
  const corners = markCentres(card).map(([x, y]): Point => [x, y]);
  const turned = 'these corners make no card: put each on the middle of its mark, clockwise from the card’s left top';
  const shrunk = shrink(photo);
  try {
    const toMm = fitHomography(marksPx, corners);
    const map = fitHomography(
      marksPx.map(([x, y]): Point => [x / shrunk.by, y / shrunk.by]),
      corners,
    );
    const code = readCode(bitsAt(shrunk, invertHomography(map), card));
    if (code && (code.kind !== card.kind || code.id !== card.id)) {
      throw new ReadingError(
        `this is card ${code.id} (${code.kind}), not card ${card.id} (${card.kind}); give the file of the card in the photograph`,
      );
    }
    const across = Math.hypot(marksPx[1][0] - marksPx[0][0], marksPx[1][1] - marksPx[0][1]);
    return { toMm, marksPx, pxPerMm: across / (corners[1][0] - corners[0][0]) };
  } catch (error) {
    if (error instanceof ReadingError) throw error;
    throw new ReadingError(turned);
  }
}
