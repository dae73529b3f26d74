import { hashToNormal } from '../random/lattice-hash.ts';

/**
 * Film grain in units of the picture: random cells, `cells` of them across its width, averaged over what a pixel covers. A small
 * picture therefore shows the same grain as a large one, only finer than it can resolve.
 * @returns a plane of mean 0; its spread is 1 where a pixel covers one cell.
 */
export function createGrain(width: number, height: number, cells: number, seed: number): Float32Array {
  const plane = new Float32Array(width * height);
  const pitch = cells / width;
  const reach = 0.5 * Math.max(1, pitch);
  const rows = new Map<number, Float32Array>();
  for (let y = 0; y < height; y++) {
    const from = (y + 0.5) * pitch - reach;
    const to = from + 2 * reach;
    for (let row = Math.floor(from); row < to; row++) {
      const weight = (Math.min(row + 1, to) - Math.max(row, from)) / (2 * reach);
      let line = rows.get(row);
      if (!line) {
        line = createLine(width, pitch, reach, row, seed);
        rows.set(row, line);
      }
      for (let x = 0; x < width; x++) plane[y * width + x] += weight * line[x];
    }
    for (const row of rows.keys()) if (row + 1 < from) rows.delete(row);
  }
  return plane;
}

/** One row of cells, averaged along the row only. */
function createLine(width: number, pitch: number, reach: number, row: number, seed: number): Float32Array {
  const count = Math.ceil(width * pitch + 2 * reach) + 2;
  const first = Math.floor(0.5 * pitch - reach);
  const values = Float32Array.from({ length: count }, (_, i) => hashToNormal(seed, first + i, row));
  const line = new Float32Array(width);
  for (let x = 0; x < width; x++) {
    const from = (x + 0.5) * pitch - reach;
    const to = from + 2 * reach;
    for (let cell = Math.floor(from); cell < to; cell++) {
      line[x] += (values[cell - first] * (Math.min(cell + 1, to) - Math.max(cell, from))) / (2 * reach);
    }
  }
  return line;
}
