/** First and one past the last dot of each row that get any power; both 0 for a row that is skipped. */
export interface RowSpans {
  readonly first: Int32Array;
  readonly end: Int32Array;
  /** 1 where the row is travelled from its end to its start. */
  readonly backwards: Uint8Array;
}

/**
 * Finds what each row has to travel. Two-way rows alternate over those that are travelled at all.
 * `levels` holds a level per dot (row-major); `fires[level]` says whether that level lets any
 * light out.
 */
export function findSpans(
  levels: Uint8Array,
  mask: Uint8Array,
  columns: number,
  rows: number,
  fires: (level: number) => boolean,
  twoWay: boolean,
): RowSpans {
  const firing = Uint8Array.from({ length: 256 }, (_, level) => (fires(level) ? 1 : 0));
  const first = new Int32Array(rows);
  const end = new Int32Array(rows);
  const backwards = new Uint8Array(rows);
  let turned = 0;
  for (let r = 0; r < rows; r++) {
    const base = r * columns;
    let from = 0;
    while (from < columns && !(mask[base + from] > 0 && firing[levels[base + from]])) from++;
    if (from === columns) continue;
    let to = columns;
    while (!(mask[base + to - 1] > 0 && firing[levels[base + to - 1]])) to--;
    first[r] = from;
    end[r] = to;
    backwards[r] = turned;
    if (twoWay) turned = 1 - turned;
  }
  return { first, end, backwards };
}
