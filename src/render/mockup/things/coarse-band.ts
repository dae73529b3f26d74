const EACH_COLUMN = 3;
const EACH_RING = 2;

/** The triangles of a band of rings of vertices (as `buildRings` lays them) with fewer rings and columns, for pictures in a hurry. */
export function coarseBand(index: Uint32Array): Uint32Array {
  const columns = index[1] - index[0];
  const rings = index.length / 6 / (columns - 1) + 1;
  const every = (count: number, step: number): number[] => [
    ...Array.from({ length: Math.ceil((count - 1) / step) }, (_, i) => i * step),
    count - 1,
  ];
  const [rows, across] = [every(rings, EACH_RING), every(columns, EACH_COLUMN)];
  const out: number[] = [];
  for (let r = 0; r + 1 < rows.length; r++) {
    for (let c = 0; c + 1 < across.length; c++) {
      const [a, b] = [rows[r] * columns, rows[r + 1] * columns];
      const [left, right] = [across[c], across[c + 1]];
      out.push(a + left, b + left, a + right, a + right, b + left, b + right);
    }
  }
  return Uint32Array.from(out);
}
