/**
 * One stroke of the brush, as data: drawing again from a list of them is how the last is undone. Lengths are shares of the
 * picture's width, from its left top corner, so that strokes stay where they are on the photo at every size.
 */
export interface BrushStroke {
  /** Erased places do not burn; restored ones burn again. */
  readonly does: 'erase' | 'restore';
  /** One point is a dab. */
  readonly points: readonly (readonly [x: number, y: number])[];
  readonly radius: number;
  /** Share of the radius that is fully covered, 0–1; from there the brush fades out smoothly to its rim. */
  readonly hardness: number;
}

/**
 * Draws strokes one after the other onto a mask. A stroke is what a round brush leaves that is dabbed infinitely often along its
 * points: every dot takes the brush at its least distance from the line, so no dabs show and crossing its own line makes no stroke
 * stronger. Cover c takes an erased dot to mask · (1 − c) and a restored one by c towards `whole`.
 * Source: none published for the limit of dabs; distance to a segment is textbook. Test: test/unit/mask-brush.test.ts.
 * @param mask 0 never burns … 255, row-major, as wide as the picture.
 * @param whole what can be restored, such as the crop and the photo's own transparency; everything (255) if left out.
 * @returns a new mask.
 * @throws RangeError for a radius or a hardness out of range.
 */
export function paintStrokes(
  mask: Uint8Array,
  width: number,
  height: number,
  strokes: readonly BrushStroke[],
  whole: Uint8Array | null = null,
): Uint8Array {
  const out = mask.slice();
  for (const stroke of strokes) paintStroke(out, width, height, stroke, whole);
  return out;
}

function paintStroke(
  mask: Uint8Array,
  width: number,
  height: number,
  { does, points, radius, hardness }: BrushStroke,
  whole: Uint8Array | null,
): void {
  if (!(radius > 0 && hardness >= 0 && hardness <= 1)) {
    throw new RangeError(`a brush needs a radius and a hardness of 0 to 1, got ${radius} and ${hardness}`);
  }
  if (points.length === 0 || mask.length === 0) return;
  const rim = radius * width;
  const places = points.map(([x, y]) => [x * width - 0.5, y * width - 0.5] as const);
  const [left, right] = range(places, 0, rim, width);
  const [top, bottom] = range(places, 1, rim, height);
  if (right < left || bottom < top) return;
  const columns = right - left + 1;
  // Least squared distance of every dot in the stroke's box, its squares beyond the rim left at infinity.
  const nearest = new Float32Array(columns * (bottom - top + 1)).fill(Number.POSITIVE_INFINITY);
  for (let p = 0; p < places.length; p++) {
    const [ax, ay] = places[Math.max(0, p - 1)];
    const [bx, by] = places[p];
    const [dx, dy] = [bx - ax, by - ay];
    const length = dx * dx + dy * dy;
    const [x0, x1] = range([places[Math.max(0, p - 1)], places[p]], 0, rim, width);
    const [y0, y1] = range([places[Math.max(0, p - 1)], places[p]], 1, rim, height);
    for (let y = y0; y <= y1; y++) {
      for (let x = x0; x <= x1; x++) {
        const along = length > 0 ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / length)) : 0;
        const [ex, ey] = [x - ax - along * dx, y - ay - along * dy];
        const at = (y - top) * columns + x - left;
        nearest[at] = Math.min(nearest[at], ex * ex + ey * ey);
      }
    }
  }
  for (let y = top; y <= bottom; y++) {
    for (let x = left; x <= right; x++) {
      const square = nearest[(y - top) * columns + x - left];
      if (!(square < rim * rim)) continue;
      const i = y * width + x;
      const aim = does === 'erase' ? 0 : whole === null ? 255 : whole[i];
      const cover = brushCover(Math.sqrt(square) / rim, hardness);
      // Restoring never takes away: a place that is fuller than `whole` says stays.
      if (does === 'erase' || aim > mask[i]) mask[i] = Math.round(mask[i] + cover * (aim - mask[i]));
    }
  }
}

/** First and last dot that a brush along the points can touch. */
function range(
  places: readonly (readonly [number, number])[],
  axis: 0 | 1,
  rim: number,
  count: number,
): [number, number] {
  let least = Number.POSITIVE_INFINITY;
  let greatest = Number.NEGATIVE_INFINITY;
  for (const place of places) {
    least = Math.min(least, place[axis]);
    greatest = Math.max(greatest, place[axis]);
  }
  return [Math.max(0, Math.ceil(least - rim)), Math.min(count - 1, Math.floor(greatest + rim))];
}

/** Cover of the brush at a distance from its middle (share of the radius): 1 up to the hardness, then smoothly to 0 at the rim. */
export function brushCover(distance: number, hardness: number): number {
  if (distance <= hardness) return 1;
  if (distance >= 1) return 0;
  const t = (1 - distance) / (1 - hardness);
  return t * t * (3 - 2 * t);
}
