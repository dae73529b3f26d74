/** Place and shape of a set of cells, in cells, from its first and second moments; cells count as squares. */
export interface BlobShape {
  /** Centre of gravity; the middle of the first cell is 0.5. */
  readonly x: number;
  readonly y: number;
  /** Axes of the ellipse with the same second moments. */
  readonly length: number;
  readonly breadth: number;
  /** From the first cell to the last along the longer axis, a cell's own size included. */
  readonly extent: number;
  /** Of the longer axis, 0 ≤ heading < π, from x towards y. */
  readonly headingRad: number;
}

/** Moments of a set of cells given by flat indices; at least one. */
export function blobShape(cells: ArrayLike<number>, width: number): BlobShape {
  const n = cells.length;
  let sumX = 0;
  let sumY = 0;
  for (let k = 0; k < n; k++) {
    sumX += cells[k] % width;
    sumY += Math.floor(cells[k] / width);
  }
  const meanX = sumX / n;
  const meanY = sumY / n;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let k = 0; k < n; k++) {
    const dx = (cells[k] % width) - meanX;
    const dy = Math.floor(cells[k] / width) - meanY;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  // A cell's own spread is 1/12.
  xx = xx / n + 1 / 12;
  yy = yy / n + 1 / 12;
  xy /= n;
  const middle = (xx + yy) / 2;
  const half = Math.hypot((xx - yy) / 2, xy);
  const turn = 0.5 * Math.atan2(2 * xy, xx - yy);
  const headingRad = turn < 0 ? turn + Math.PI : turn;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < n; k++) {
    const along =
      ((cells[k] % width) - meanX) * Math.cos(turn) + (Math.floor(cells[k] / width) - meanY) * Math.sin(turn);
    least = Math.min(least, along);
    most = Math.max(most, along);
  }
  return {
    x: meanX + 0.5,
    y: meanY + 0.5,
    length: 4 * Math.sqrt(middle + half),
    breadth: 4 * Math.sqrt(Math.max(1 / 12, middle - half)),
    extent: most - least + 1,
    headingRad: headingRad >= Math.PI ? 0 : headingRad,
  };
}
