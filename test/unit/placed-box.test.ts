import { describe, expect, test } from 'vitest';
import { areaMm2 } from '../../src/base/geometry/outline.ts';
import { flawEdges, picturePerimeter } from '../../src/physics/bed/bed.ts';
import {
  boxCorners,
  boxEdge,
  fromBox,
  LARGEST_BOX_MM,
  movedBox,
  type PlacedBox,
  pulledBox,
  SMALLEST_BOX_MM,
  scaledBox,
  turnedBox,
} from '../../src/physics/bed/placed-box.ts';
import { createPiece } from '../../src/piece/defaults.ts';

const BOX: PlacedBox = { centreXMm: 12, centreYMm: -7, widthMm: 120, heightMm: 80, turnRad: 0.4 };

describe('a picture as a box on the slab', () => {
  test('lies where the picture’s own edge lies, turned the same way', () => {
    const { slab, picture } = createPiece('', '');
    const placed = { ...picture, offsetXMm: 12, offsetYMm: -7, widthMm: 120, rotationRad: 0.4 };
    const photo = { width: 1200, height: 800 };
    const edge = picturePerimeter(slab, { ...placed, crop: 'rectangle' }, photo);
    boxCorners(BOX).forEach((corner, i) => {
      expect(corner[0]).toBeCloseTo(edge[i][0], 9);
      expect(corner[1]).toBeCloseTo(edge[i][1], 9);
    });
    const oval = areaMm2(boxEdge(BOX, 'oval'));
    expect(Math.abs(oval / (Math.PI * 60 * 40) - 1)).toBeLessThan(0.002);
    // Counter-clockwise: what is right of the middle goes up, which is less y.
    expect(fromBox({ ...BOX, centreXMm: 0, centreYMm: 0 }, [10, 0])[1]).toBeLessThan(0);
  });

  test('moves, and rests on the middle each way for itself', () => {
    expect(movedBox(BOX, [3, 4])).toEqual({ ...BOX, centreXMm: 15, centreYMm: -3 });
    expect(movedBox(BOX, [-11, 20], 2)).toMatchObject({ centreXMm: 0, centreYMm: 13 });
    expect(movedBox(BOX, [-11, 20], 0.5)).toMatchObject({ centreXMm: 1 });
    expect(movedBox(BOX, [9000, 0]).centreXMm).toBe(3000);
  });

  test('pulled by a corner it follows the pointer along its diagonal, and the corner across stays', () => {
    for (const corner of [0, 1, 2, 3] as const) {
      const from = boxCorners(BOX)[corner];
      const across = boxCorners(BOX)[(corner + 2) % 4];
      const to = [across[0] + 1.5 * (from[0] - across[0]), across[1] + 1.5 * (from[1] - across[1])] as const;
      const pulled = pulledBox(BOX, corner, to);
      expect(pulled.widthMm).toBeCloseTo(180, 9);
      expect(pulled.heightMm).toBeCloseTo(120, 9);
      expect(boxCorners(pulled)[corner][0]).toBeCloseTo(to[0], 9);
      expect(boxCorners(pulled)[(corner + 2) % 4][1]).toBeCloseTo(across[1], 9);
      // Beyond the corner across nothing turns inside out.
      const beyond = [across[0] - (from[0] - across[0]), across[1] - (from[1] - across[1])] as const;
      expect(pulledBox(BOX, corner, beyond).heightMm).toBeCloseTo(SMALLEST_BOX_MM, 9);
    }
  });

  test('is never smaller nor larger than a picture may be; one that is smaller already stays', () => {
    expect(scaledBox(BOX, 0).heightMm).toBeCloseTo(SMALLEST_BOX_MM, 9);
    expect(scaledBox(BOX, 1e6).widthMm).toBeCloseTo(LARGEST_BOX_MM, 9);
    const tiny = { ...BOX, widthMm: 3, heightMm: 2 };
    expect(scaledBox(tiny, 0.5)).toMatchObject({ widthMm: 3 });
    expect(scaledBox(tiny, 2)).toMatchObject({ widthMm: 6 });
  });

  test('turns within ±180°, and rests on quarters', () => {
    expect(turnedBox(BOX, 3.5).turnRad).toBeCloseTo(3.5 - 2 * Math.PI, 9);
    expect(turnedBox(BOX, 0.03, 0.05).turnRad).toBe(0);
    expect(turnedBox(BOX, -1.55, 0.05).turnRad).toBeCloseTo(-Math.PI / 2, 12);
    expect(turnedBox(BOX, 0.06, 0.05).turnRad).toBe(0.06);
    expect(Math.abs(turnedBox(BOX, Math.PI - 0.01, 0.05).turnRad)).toBeLessThanOrEqual(Math.PI);
  });
});

describe('edges of flaws', () => {
  const { slab } = createPiece('', '');
  const knot = { xMm: 40, yMm: 0, diameterMm: 20, tiltRad: 0, filled: true };
  const check = { xMm: -30, yMm: 5, lengthMm: 40, headingRad: Math.PI / 2, widthMm: 1, depthMm: 2, filled: false };

  test('a round knot, one drawn out by its lean, an open check; a filled one is no flaw', () => {
    const wood = { ...slab, pithXMm: 0, pithYMm: 0, knots: [knot, { ...knot, tiltRad: Math.acos(0.5) }] };
    const [round, long, crack, ...more] = flawEdges({ ...wood, checks: [check, { ...check, filled: true }] });
    expect(more).toEqual([]);
    expect(Math.abs(areaMm2(round.edge) / (Math.PI * 100) - 1)).toBeLessThan(0.01);
    // Outwards from the pith, twice as long.
    const reach = (edge: typeof long.edge, k: 0 | 1) =>
      Math.max(...edge.map((point) => point[k])) - Math.min(...edge.map((point) => point[k]));
    expect(reach(long.edge, 0)).toBeCloseTo(40, 0);
    expect(reach(long.edge, 1)).toBeCloseTo(20, 0);
    expect(crack.kind).toBe('check');
    expect(reach(crack.edge, 1)).toBeCloseTo(40, 9);
  });
});
