import { describe, expect, test } from 'vitest';
import { faceMesh } from '../../src/render/mesh/face.ts';
import { type SlabShape, slabOutline } from '../../src/render/mesh/outline.ts';

const bay: [number, number][] = [
  [-50, -30],
  [50, -30],
  [50, 30],
  [15, 30],
  [15, -10],
  [-15, -10],
  [-15, 30],
  [-50, 30],
];
const slab = (outlineMm: [number, number][]): SlabShape => ({
  shape: 'outline',
  outlineMm,
  widthMm: 100,
  heightMm: 60,
  thicknessMm: 20,
  woodColor: [0.6, 0.5, 0.4],
  edge: 'sawn',
});
const round = Array.from({ length: 90 }, (_, i): [number, number] => {
  const turn = (2 * Math.PI * i) / 90;
  return [50 * Math.cos(turn), 30 * Math.sin(turn)];
});

describe('a free outline in the view', () => {
  test.each([
    ['clockwise', round],
    ['counter-clockwise', [...round].reverse()],
  ])('%s: in even steps, normals outwards', (_, outline) => {
    const points = slabOutline(slab(outline), 240);
    expect(points).toHaveLength(240);
    for (const { x, z, normalX, normalZ } of points) {
      expect(normalX * x + normalZ * z).toBeGreaterThan(0);
      expect(Math.hypot(normalX, normalZ)).toBeCloseTo(1, 9);
      expect((x / 50) ** 2 + (z / 30) ** 2).toBeCloseTo(1, 1);
    }
    const steps = points.slice(1).map(({ alongMm }, i) => alongMm - points[i].alongMm);
    expect(Math.max(...steps) / Math.min(...steps)).toBeLessThan(1.05);
  });

  test('its face covers the outline and leaves the bay open, facing up', () => {
    const { position, index } = faceMesh(slab(bay));
    let area = 0;
    let covered = 0;
    for (let i = 0; i < index.length; i += 3) {
      const [a, b, c] = [0, 1, 2].map((k) => index[i + k]);
      const [ax, az, bx, bz, cx, cz] = [a, b, c].flatMap((v) => [position[3 * v], position[3 * v + 2]]);
      const twice = (bx - ax) * (cz - az) - (bz - az) * (cx - ax);
      // y up: seen from above a triangle that faces up runs clockwise in (x, z).
      expect(twice).toBeLessThan(1e-3);
      area -= twice / 2;
      const inside = (x: number, z: number) => {
        const side = (px: number, pz: number, qx: number, qz: number) => (qx - px) * (z - pz) - (qz - pz) * (x - px);
        return side(ax, az, bx, bz) < 0 && side(bx, bz, cx, cz) < 0 && side(cx, cz, ax, az) < 0;
      };
      if (inside(0, 10)) covered++;
    }
    // 100 × 60 less a bay of 30 × 40, drawn back a little at the rim.
    expect(area).toBeGreaterThan(4300);
    expect(area).toBeLessThan(4850);
    expect(covered).toBe(0);
  });
});
