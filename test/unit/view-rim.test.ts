import { describe, expect, it } from 'vitest';
import { faceMesh } from '../../src/render/mesh/face.ts';
import { type Mesh, type SlabShape, slabOutline } from '../../src/render/mesh/outline.ts';
import { BARK_TILE_MM, barkHeightAt, barkHeights, barkPlace, rimMesh } from '../../src/render/mesh/rim.ts';

const heights = barkHeights();
const slab: SlabShape = {
  shape: 'oval',
  widthMm: 300,
  heightMm: 240,
  thicknessMm: 20,
  woodColor: [0.6, 0.5, 0.3],
};
const SLABS: readonly [string, SlabShape][] = [
  ['an oval slice with bark', slab],
  ['a sawn slice', { ...slab, edge: 'sawn' }],
  ['a plank with bark', { ...slab, shape: 'rectangle', cut: 'plank' }],
  ['a sawn plank', { ...slab, shape: 'rectangle', cut: 'plank', edge: 'sawn' }],
  ['a thin sheet', { ...slab, thicknessMm: 1.5 }],
  ['a block', { ...slab, shape: 'rectangle', thicknessMm: 120 }],
];

const inThrees = (values: Float32Array): [number, number, number][] =>
  Array.from({ length: values.length / 3 }, (_, i) => [values[3 * i], values[3 * i + 1], values[3 * i + 2]]);

const points = ({ position }: Mesh) => inThrees(position);

describe('the relief of bark', () => {
  it('repeats without a step', () => {
    const { round, along } = BARK_TILE_MM;
    for (let i = 0; i < 40; i++) {
      const at = barkHeightAt(heights, i * 1.83, i * 2.71);
      expect(barkHeightAt(heights, i * 1.83 + 3 * round, i * 2.71 - 2 * along)).toBeCloseTo(at, 4);
    }
    // Across the border of the tile it changes no more than inside.
    const stepAt = (x: number): number => {
      let worst = 0;
      for (let y = 0; y < along; y += 0.7) {
        worst = Math.max(worst, Math.abs(barkHeightAt(heights, x + 0.28, y) - barkHeightAt(heights, x, y)));
      }
      return worst;
    };
    const inside = Math.max(...Array.from({ length: 60 }, (_, i) => stepAt(5 + i)));
    expect(stepAt(round - 0.28)).toBeLessThanOrEqual(inside);
  });

  it('goes whole times round any slab', () => {
    for (const outlineMm of [90, 853, 1080, 4000]) {
      for (const [cut, tile] of [
        ['slice', BARK_TILE_MM.round],
        ['plank', BARK_TILE_MM.along],
      ] as const) {
        expect(barkPlace({ ...slab, cut }, outlineMm).wayMm % tile).toBeCloseTo(0, 9);
      }
    }
  });

  it('runs along the trunk: it changes faster round it', () => {
    let round = 0;
    let along = 0;
    for (let i = 0; i < 2000; i++) {
      const x = (i * 7.31) % BARK_TILE_MM.round;
      const y = (i * 3.17) % BARK_TILE_MM.along;
      const here = barkHeightAt(heights, x, y);
      round += Math.abs(barkHeightAt(heights, x + 0.6, y) - here);
      along += Math.abs(barkHeightAt(heights, x, y + 0.6) - here);
    }
    expect(round).toBeGreaterThan(1.5 * along);
  });
});

describe.each(SLABS)('the rim of %s', (_, shape) => {
  const rim = rimMesh(shape, heights);
  const at = points(rim);
  const edge = inThrees(rim.edge);

  it('closes where its outline starts', () => {
    const ends = new Map<number, number[]>();
    for (const [i, [out, , share]] of edge.entries()) {
      if (share === 0) ends.set(out, [...at[i]]);
      if (share !== 1) continue;
      const start = ends.get(out)!;
      for (let c = 0; c < 3; c++) expect(at[i][c]).toBeCloseTo(start[c], 3);
    }
    expect(ends.size).toBeGreaterThan(5);
  });

  it('reaches from under the paint to the table, and no further', () => {
    const ys = at.map((point) => point[1]);
    expect(Math.min(...ys)).toBeCloseTo(-shape.thicknessMm, 5);
    const paint = points(faceMesh(shape));
    const lowestPaint = Math.min(...paint.map((point) => point[1]));
    const inner = at.filter((_p, i) => edge[i][0] === 0);
    for (const point of inner) expect(point[1]).toBeLessThan(lowestPaint);
    for (const [x, , z] of at) {
      expect(Math.abs(x)).toBeLessThan(shape.widthMm / 2 + 1.2);
      expect(Math.abs(z)).toBeLessThan(shape.heightMm / 2 + 1.2);
    }
  });
});

describe('where bark is', () => {
  const shares = (shape: SlabShape): number[] => slabOutline(shape).map((point) => point.bark);

  it('runs all round an oval, along the long sides of a rectangle, and nowhere on a sawn slab', () => {
    expect(Math.min(...shares(slab))).toBe(1);
    const rectangle = slabOutline({ ...slab, shape: 'rectangle' });
    for (const { normalX, normalZ, bark } of rectangle) {
      if (Math.abs(normalZ) > 0.999) expect(bark).toBe(1);
      if (Math.abs(normalX) > 0.999) expect(bark).toBe(0);
    }
    for (const shape of ['oval', 'rectangle'] as const) {
      expect(Math.max(...shares({ ...slab, shape, edge: 'sawn' }))).toBe(0);
    }
  });
});
