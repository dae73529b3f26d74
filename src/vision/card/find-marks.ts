import { components } from '../../base/geometry/component.ts';
import type { Point } from '../../base/geometry/point.ts';
import { boxMean } from '../../image/repair/box-mean.ts';

/** A corner mark found in a picture: where its middle lies and how large its ring is, pixels. */
export interface FoundMark {
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
export function findMarks(light: Float32Array, width: number, height: number): FoundMark[] {
  const found: FoundMark[] = [];
  // A mark takes between a fortieth and an eighth of the picture: windows for both.
  for (const share of [0.04, 0.08, 0.16]) {
    const radius = Math.max(4, Math.round(share * Math.max(width, height)));
    const around = boxMean(light, width, height, radius);
    const mask = Uint8Array.from(light, (value, i) => (value > LIGHTER * around[i] + 0.004 ? 1 : 0));
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
