/** First and one past the last dot of each row that get any power; both 0 for a row that is skipped. */
export interface RowSpans {
  readonly first: Int32Array;
  readonly end: Int32Array;
  /** 1 where the row is travelled from its end to its start. */
  readonly backwards: Uint8Array;
  /** Long blank stretches inside the rows; none told where nobody asked for them. */
  readonly gaps?: RowGaps;
}

/** Stretches of dots that get no power: row r has those numbered `start[r]` to `start[r + 1] − 1`, in rising order. */
export interface RowGaps {
  readonly start: Int32Array;
  readonly first: Int32Array;
  readonly end: Int32Array;
}

/**
 * Finds what each row has to travel. Two-way rows alternate over those that are travelled at all.
 * `levels` holds a level per dot (row-major); `fires[level]` says whether that level lets any
 * light out. Blank stretches of at least `leastGapDots` dots inside a row are told apart.
 */
export function findSpans(
  levels: Uint8Array,
  mask: Uint8Array,
  columns: number,
  rows: number,
  fires: (level: number) => boolean,
  twoWay: boolean,
  leastGapDots = Number.POSITIVE_INFINITY,
): RowSpans {
  const firing = Uint8Array.from({ length: 256 }, (_, level) => (fires(level) ? 1 : 0));
  const first = new Int32Array(rows);
  const end = new Int32Array(rows);
  const backwards = new Uint8Array(rows);
  const gapStart = new Int32Array(rows + 1);
  const gapFirst: number[] = [];
  const gapEnd: number[] = [];
  let turned = 0;
  for (let r = 0; r < rows; r++) {
    gapStart[r + 1] = gapFirst.length;
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
    if (leastGapDots > to - from) continue;
    let blankFrom = from;
    for (let c = from; c < to; c++) {
      if (!(mask[base + c] > 0 && firing[levels[base + c]])) continue;
      if (c - blankFrom >= leastGapDots) {
        gapFirst.push(blankFrom);
        gapEnd.push(c);
      }
      blankFrom = c + 1;
    }
    gapStart[r + 1] = gapFirst.length;
  }
  const gaps = { start: gapStart, first: Int32Array.from(gapFirst), end: Int32Array.from(gapEnd) };
  return Number.isFinite(leastGapDots) ? { first, end, backwards, gaps } : { first, end, backwards };
}

/** The same rows without those before one of them. Directions stay as they are: two-way rows go on as they would have. */
export function spansFrom(spans: RowSpans, row: number): RowSpans {
  const first = spans.first.slice();
  const end = spans.end.slice();
  first.fill(0, 0, row);
  end.fill(0, 0, row);
  return { ...spans, first, end };
}
