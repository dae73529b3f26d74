import type { Point, Polygon } from '../../../base/geometry/point.ts';

/**
 * All closed lines along which a field takes a level, holes included, in dots: the middle of dot (i, j) is (i + 0.5, j + 0.5). Beyond the
 * grid the field counts as 0, so that lines close along its border.
 * Source: marching squares with straight lines between dots (textbook). Test: test/unit/mask-dialog-region.test.ts.
 * @param level > 0.
 */
export function levelLines(field: ArrayLike<number>, width: number, height: number, level: number): Polygon[] {
  const columns = width + 2;
  const at = (x: number, y: number) =>
    x > 0 && y > 0 && x <= width && y <= height ? field[(y - 1) * width + x - 1] : 0;
  // A side of a cell is named by its left or upper end: twice the end's number if it runs across, one more if it runs down.
  const next = new Int32Array(2 * columns * (height + 2)).fill(-1);
  for (let y = 0; y <= height; y++) {
    for (let x = 0; x <= width; x++) {
      const corner = [at(x, y), at(x + 1, y), at(x + 1, y + 1), at(x, y + 1)].map((value) => value >= level);
      if (corner.every((inside) => inside === corner[0])) continue;
      const base = 2 * (y * columns + x);
      const side = [base, base + 3, base + 2 * columns, base + 1];
      for (let k = 0; k < 4; k++) {
        // From where the way round the cell goes out of the level to where it next comes in again.
        if (!corner[k] || corner[(k + 1) % 4]) continue;
        let to = (k + 1) % 4;
        while (!corner[(to + 1) % 4]) to = (to + 1) % 4;
        next[side[k]] = side[to];
      }
    }
  }
  const place = (name: number): Point => {
    const x = (name >> 1) % columns;
    const y = Math.floor((name >> 1) / columns);
    const [dx, dy] = name % 2 === 0 ? [1, 0] : [0, 1];
    const here = at(x, y);
    const share = (level - here) / (at(x + dx, y + dy) - here);
    return [x - 0.5 + share * dx, y - 0.5 + share * dy];
  };
  const lines: Polygon[] = [];
  for (let start = 0; start < next.length; start++) {
    if (next[start] < 0) continue;
    const line: Point[] = [];
    for (let name = start; next[name] >= 0; ) {
      line.push(place(name));
      const then = next[name];
      next[name] = -1;
      name = then;
    }
    lines.push(line);
  }
  return lines;
}
