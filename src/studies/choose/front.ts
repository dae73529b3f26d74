/**
 * Those of which no other is at least as good in both respects and better in one, by the first respect rising (Pareto front; the
 * smaller the better in both).
 */
export function paretoFront<Item>(
  items: readonly Item[],
  first: (item: Item) => number,
  second: (item: Item) => number,
): Item[] {
  const sorted = [...items].sort((a, b) => first(a) - first(b) || second(a) - second(b));
  const front: Item[] = [];
  for (const item of sorted) {
    if (front.length === 0 || second(item) < second(front[front.length - 1])) front.push(item);
  }
  return front;
}

/**
 * A handful from a front, well apart: `kept` first, then again and again whatever is furthest from all that are taken, in the respects'
 * own units. Stops where the next would be nearer than 1. Keeps the front's order.
 */
export function spreadPicks<Item>(
  front: readonly Item[],
  respects: readonly ((item: Item) => number)[],
  count: number,
  kept: readonly Item[],
): Item[] {
  const distance = (a: Item, b: Item) => Math.hypot(...respects.map((respect) => respect(a) - respect(b)));
  const picked: Item[] = [...kept];
  while (picked.length < count) {
    const apart = (item: Item) => Math.min(...picked.map((other) => distance(item, other)), Number.POSITIVE_INFINITY);
    const next = front.reduce<Item | null>((best, item) => (best && apart(best) >= apart(item) ? best : item), null);
    if (!next || apart(next) < 1) break;
    picked.push(next);
  }
  return front.filter((item) => picked.includes(item));
}
